//! How even a week is, with bounds: the quantity behind monotony.
//!
//! With sum S and sum of squares Q of the seven days, `R = S^2 / Q` runs from 1 (a single session)
//! to 7 (all days equal), and monotony grows with it.

use crate::exact::Fraction;
use crate::figure::{Bounds, Figure};
use crate::load::Load;
use crate::reason::Reason;
use crate::window::ACUTE_DAYS;

/// The loads of seven days with their bounds.
pub(crate) type Week = [Bounds<Load>; ACUTE_DAYS];

/// The evenness `S^2 / Q` of a week, from 1 (a single session) to 7 (all days equal), with bounds.
pub(crate) fn evenness_of(week: &Week) -> Figure<Fraction> {
    let logged = Sums::of(week.iter().map(|day| day.point));
    let point = logged.evenness().filter(|_| !logged.all_equal());
    let reason = match logged.evenness() {
        None => Some(Reason::NoLoad),
        Some(_) if logged.all_equal() => Some(Reason::NoVariation),
        Some(_) => None,
    };
    if week.iter().all(|day| day.low == day.high) {
        return Figure {
            low: point,
            point,
            high: point,
            reason,
        };
    }
    let high = if may_be_equal(week) {
        None
    } else {
        highest(week)
    };
    let open = if high.is_none() {
        Some(Reason::NoVariationPossible)
    } else {
        None
    };
    Figure {
        low: lowest(week),
        point,
        high,
        reason: reason.or(open),
    }
}

/// Sum and sum of squares of the seven days, in half-AU.
#[derive(Clone, Copy, Default)]
struct Sums {
    sum: i64,
    squares: i64,
}

impl Sums {
    fn of(loads: impl Iterator<Item = Load>) -> Sums {
        loads.fold(Sums::default(), Sums::plus)
    }

    fn plus(self, load: Load) -> Sums {
        let load = load.half_au();
        Sums {
            sum: self.sum + load,
            squares: self.squares + load * load,
        }
    }

    fn evenness(self) -> Option<Fraction> {
        Fraction::new(self.sum * self.sum, self.squares)
    }

    fn all_equal(self) -> bool {
        7 * self.squares == self.sum * self.sum
    }
}

/// Whether some positive load lies within the bounds of every day.
fn may_be_equal(week: &Week) -> bool {
    let least = week.iter().map(|day| day.low).max();
    let most = week.iter().map(|day| day.high).min();
    least <= most && most > Some(Load::ZERO)
}

/// The least evenness. `S / sqrt(Q)` is the cosine of the angle to the week of equal days, so it
/// is least at a corner of the box of bounds. Where all days may be zero, that corner has no
/// evenness and the least of the others is 1, a single session.
fn lowest(week: &Week) -> Option<Fraction> {
    if week.iter().all(|day| day.low == Load::ZERO) {
        return Some(Fraction::whole(1));
    }
    let (known, open): (Vec<&Bounds<Load>>, Vec<&Bounds<Load>>) =
        week.iter().partition(|day| day.low == day.high);
    let known = Sums::of(known.iter().map(|day| day.point));
    let corners = (0..1_u32 << open.len()).map(|corner| {
        let ends = open.iter().enumerate();
        let ends = ends.map(|(at, day)| {
            if corner >> at & 1 == 1 {
                day.high
            } else {
                day.low
            }
        });
        ends.fold(known, Sums::plus)
    });
    corners.filter_map(Sums::evenness).min()
}

/// The highest evenness of a week whose days cannot all be equal.
///
/// At the maximum every open day equals `clamp(t, low, high)` for one `t = Q / S`. Between two
/// neighbouring bounds the same k days move with t, and the maximum there is at `t = Q0 / S0` of
/// the days that do not, with evenness `S0^2 / Q0 + k`; otherwise it is at one of the bounds.
fn highest(week: &Week) -> Option<Fraction> {
    let open = week.iter().filter(|day| day.low != day.high);
    let mut ends: Vec<Load> = open.flat_map(|day| [day.low, day.high]).collect();
    ends.sort_unstable();
    ends.dedup();
    let at_ends = ends
        .iter()
        .filter_map(|t| Sums::of(week.iter().map(|day| (*t).clamp(day.low, day.high))).evenness());
    let between = ends
        .windows(2)
        .filter_map(|gap| highest_between(week, gap[0], gap[1]));
    at_ends.chain(between).max()
}

fn highest_between(week: &Week, from: Load, to: Load) -> Option<Fraction> {
    let moves = |day: &&Bounds<Load>| day.low <= from && day.high >= to;
    let moving = i64::try_from(week.iter().filter(moves).count()).ok()?;
    let still = week.iter().filter(|day| !moves(day));
    let Sums { sum, squares } = Sums::of(still.map(|day| from.clamp(day.low, day.high)));
    let inside = from.half_au() * sum <= squares && squares <= to.half_au() * sum;
    if inside {
        Fraction::new(sum * sum + moving * squares, squares)
    } else {
        None
    }
}
