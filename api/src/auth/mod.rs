//! Who asks, and what they may do.
//!
//! A request carries a bearer token (JWT, RFC 7519, in the access-token profile of RFC 9068, under
//! the rules of RFC 8725). It passes these modules in order:
//!
//! 1. [`token`] takes the text apart and refuses anything that is not a plainly signed token;
//! 2. [`keys`], [`jwks`] and [`local_key`] hold the public keys: a key knows its algorithm, a token
//!    never chooses it;
//! 3. [`verifier`] checks signature, issuer, audience and times by the service's own clock;
//! 4. [`claims`] turns the payload into typed [`Claims`];
//! 5. [`principal`] picks the one role the request acts in;
//! 6. [`role`] says what that role may ask for, and `Principal::reach` about whom.
//!
//! Then [`tenant`] ties the request to one club, at the edge. A weekly list is also opened by a link of ours, see
//! [`list_scope`].
//!
//! Errors and log lines here never hold a token, a key or what a claim says.

pub mod claims;
pub mod fetch;
mod good_signatures;
pub mod jwks;
pub mod key_file;
pub mod keys;
pub mod list_scope;
pub mod local_key;
mod object;
pub mod principal;
pub mod reference;
pub mod role;
pub mod settings;
pub mod tenant;
pub mod token;
pub mod verifier;

pub use claims::Claims;
pub use jwks::KeySetStatus;
pub use local_key::{LocalKey, LocalKeyError, TokenRequest};
pub use principal::{ActingRoleError, Principal, Reach};
pub use reference::{BadReference, Reference};
pub use role::{Reaches, Role, Scope};
pub use settings::{AuthSettings, IssuerSettings};
pub use token::TokenError;
pub use verifier::{Verifier, VerifierError};
