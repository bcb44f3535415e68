//! A squad's week in figures about the group: mean, median and quartiles of week loads.
//!
//! They exist only where enough athletes contribute. With few of them, or with two such figures of nearly the same group, one
//! child's load can be worked out: six loads with a mean of 1541.67 and five of them with 1540 leave 1550 for the sixth.
//!
//! The fewest contributors, five: common practice, no source.
//!
//! Quartiles: with the loads in ascending order, `h = (n - 1) p`, and the value lies between the loads at the whole places
//! below and above `h`, in proportion (definition 7 of Hyndman RJ, Fan Y (1996) Am Stat 50(4):361-365; the citation is from
//! memory). The median is the quartile of one half.

use crate::exact::Fraction;
use crate::load::Load;

/// The fewest athletes whose loads are told as one figure.
pub const FEWEST: usize = 5;

/// Figures of a group, in AU.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SquadFigures {
    /// How many athletes contribute.
    pub contributors: usize,
    /// The arithmetic mean of their week loads.
    pub mean: Fraction,
    /// The lower quartile.
    pub lower_quartile: Fraction,
    /// The median.
    pub median: Fraction,
    /// The upper quartile.
    pub upper_quartile: Fraction,
}

/// The figures of week loads in any order; `None` with fewer than [`FEWEST`].
///
/// ```
/// use plimsoll_domain::{Load, Places, squad_figures::squad_figures};
/// let loads = [1500, 1620, 1480, 1710, 1390, 1550].map(Load::from_au);
/// let figures = squad_figures(&loads).unwrap();
/// assert_eq!(figures.mean.round(Places::Two).to_string(), "1541.67");
/// assert!(squad_figures(&loads[..4]).is_none());
/// ```
#[must_use]
pub fn squad_figures(loads: &[Load]) -> Option<SquadFigures> {
    if loads.len() < FEWEST {
        return None;
    }
    let mut half_au: Vec<i64> = loads.iter().map(|load| load.half_au()).collect();
    half_au.sort_unstable();
    let number = i64::try_from(half_au.len()).ok()?;
    Some(SquadFigures {
        contributors: loads.len(),
        mean: Fraction::new(half_au.iter().sum(), 2 * number)?,
        lower_quartile: at_quarter(&half_au, 1)?,
        median: at_quarter(&half_au, 2)?,
        upper_quartile: at_quarter(&half_au, 3)?,
    })
}

/// The value at so many quarters of the way from the least to the greatest; exact in eighths of an AU.
fn at_quarter(ascending: &[i64], quarters: usize) -> Option<Fraction> {
    let way = (ascending.len() - 1) * quarters;
    let (place, rest) = (way / 4, i64::try_from(way % 4).ok()?);
    let below = ascending[place];
    let above = ascending.get(place + 1).copied().unwrap_or(below);
    Fraction::new(4 * below + rest * (above - below), 8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exact::Places;

    fn figures(loads: &[u16]) -> Option<SquadFigures> {
        let loads: Vec<Load> = loads.iter().copied().map(Load::from_au).collect();
        squad_figures(&loads)
    }

    fn rounded(figure: Fraction) -> String {
        figure.round(Places::Two).to_string()
    }

    /// The quartiles of numpy.quantile, whose usual method is the same definition: 1485, 1525, 1602.5.
    #[test]
    fn s19_six_loads_have_a_mean_and_quartiles() {
        let figures = figures(&[1500, 1620, 1480, 1710, 1390, 1550]).unwrap();
        assert_eq!(figures.contributors, 6);
        assert_eq!(rounded(figures.mean), "1541.67");
        assert_eq!(rounded(figures.lower_quartile), "1485");
        assert_eq!(rounded(figures.median), "1525");
        assert_eq!(rounded(figures.upper_quartile), "1602.5");
    }

    #[test]
    fn s19_four_are_too_few() {
        assert_eq!(figures(&[1500, 1620, 1480, 1710]), None);
        assert!(figures(&[1500, 1620, 1480, 1710, 1390]).is_some());
    }

    #[test]
    fn of_five_the_quartiles_are_loads_that_were_logged() {
        let figures = figures(&[50, 10, 40, 20, 30]).unwrap();
        let all = [
            figures.lower_quartile,
            figures.median,
            figures.upper_quartile,
        ];
        assert_eq!(all.map(rounded), ["20", "30", "40"]);
        assert_eq!(rounded(figures.mean), "30");
    }
}
