//! Training-load figures.
