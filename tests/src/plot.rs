//! The plot of an entry of the weekly list, measured: what is drawn is as high as what is said.

use serde_json::Value;

/// How far a height of the drawing may be off: each of two ends is rounded to a tenth.
const ROUNDING: f64 = 0.3;

/// One figure of a page, cut into its elements.
struct Drawing<'a>(Vec<&'a str>);

impl<'a> Drawing<'a> {
    fn of(svg: &'a str) -> Self {
        let svg = svg.split("</svg>").next().unwrap_or_default();
        Self(svg.split('<').collect())
    }

    fn elements(&self, name: &str, with: &str) -> impl Iterator<Item = &'a str> {
        let of_name = self
            .0
            .iter()
            .filter(move |element| element.starts_with(name));
        let found: Vec<&str> = of_name
            .filter(|element| element.contains(with))
            .copied()
            .collect();
        found.into_iter()
    }

    /// The height of the listed week's bar of this fill, which stands on the right; 0 where there is none.
    fn height(&self, fill: &str) -> f64 {
        let fill = format!("fill=\"{fill}");
        let bars = self.elements("rect ", &fill);
        let right = bars.filter(|bar| number(bar, "x").is_some_and(|x| x > 280.0));
        right.filter_map(|bar| number(bar, "height")).sum()
    }

    /// How high the broken lines are above the line that the bars stand on.
    fn limits(&self) -> Vec<f64> {
        let lines = |broken: bool| {
            let lines = self.elements("line ", "x1=\"0\"");
            let lines = lines.filter(move |line| line.contains("stroke-dasharray") == broken);
            lines.filter(|line| number(line, "x2").is_some_and(|x| x > 100.0))
        };
        let base = lines(false)
            .find_map(|line| number(line, "y1"))
            .expect("a line to stand on");
        lines(true)
            .filter_map(|line| number(line, "y1"))
            .map(|y| base - y)
            .collect()
    }
}

fn number(element: &str, attribute: &str) -> Option<f64> {
    let (_, value) = element.split_once(&format!(" {attribute}=\""))?;
    value.split('"').next()?.parse().ok()
}

/// Asserts that each entry's plot on a page shows its load and its limit at one scale: logged load filled, what is open hatched.
/// Gives how many limits were measured.
#[track_caller]
pub fn assert_plots(entries: &[Value], page: &str) -> usize {
    let drawings: Vec<Drawing<'_>> = page.split("<svg").skip(1).map(Drawing::of).collect();
    assert_eq!(drawings.len(), entries.len(), "a plot for each entry");
    let mut measured = 0;
    for (entry, drawing) in entries.iter().zip(&drawings) {
        let name = &entry["display_name"];
        let load = |end: &str| entry["week_load_au"][end].as_f64().expect("a load");
        let (filled, open) = (drawing.height("#767676"), drawing.height("url(#open-"));
        assert_eq!(
            filled > 0.0,
            load("low") > 0.0,
            "{name}: what was logged is filled"
        );
        assert_eq!(
            open > 0.0,
            load("high") > load("low"),
            "{name}: what is open is hatched"
        );
        let Some(highest) = entry["limit_au"]["high"].as_f64() else {
            assert!(drawing.limits().is_empty(), "{name}: no limit of load");
            continue;
        };
        let limits = drawing.limits();
        let top = limits.iter().copied().fold(0.0, f64::max);
        assert!(top > 0.0, "{name}: the limit is a line");
        let as_high_as = |au: f64| au * top / highest;
        let lowest = entry["limit_au"]["low"].as_f64().expect("a limit");
        for (height, au) in [
            (filled, load("low")),
            (filled + open, load("high")),
            (limits.iter().copied().fold(top, f64::min), lowest),
        ] {
            assert!(
                (height - as_high_as(au)).abs() < ROUNDING,
                "{name}: {au} AU is {height} high, the limit of {highest} AU {top}"
            );
        }
        measured += 1;
    }
    measured
}
