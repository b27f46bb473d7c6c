//! A starter turned to another supply. Its figures are typical anyway: the plates of the real unit go over them.

use bench::Job;
use bench::job::edit::{Edit, part_fields};
use bench::job::parse_number;

/// Volts and hertz of a supply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Supply {
    pub volts: f64,
    pub hertz: f64,
}

/// Supplies to choose from.
pub const SUPPLIES: [(&str, Supply); 3] = [
    ("230 V, 50 Hz", Supply { volts: 230.0, hertz: 50.0 }),
    ("120 V, 60 Hz", Supply { volts: 120.0, hertz: 60.0 }),
    ("230 V, 60 Hz", Supply { volts: 230.0, hertz: 60.0 }),
];

/// Edits that turn every rating of a job to another supply, the power of each part staying the same.
///
/// Amps go with the inverse of the volts, speed in step with the frequency, and a capacitor keeps its reactive power
/// (V^2 * 2 pi f * C).
pub fn turned_to(text: &str, job: &Job, to: Supply) -> Vec<Edit> {
    let unit = &job.unit;
    let was = Supply {
        volts: unit.parts()[unit.supply()].kind.supply().map_or(to.volts, |supply| supply.volts),
        hertz: unit.hertz(),
    };
    if was == to {
        return Vec::new();
    }
    let (volts, hertz) = (to.volts / was.volts, to.hertz / was.hertz);
    let turned = |name: &str, value: f64| match name {
        "plate.amps" => Some(value / volts),
        "plate.rpm" => Some((value * hertz).round()),
        "microfarads" | "plate.microfarads" | "plate.run_microfarads" => Some(value / (volts * volts * hertz)),
        "hertz" | "plate.hertz" => Some(to.hertz),
        _ => None,
    };
    let mut edits = Vec::new();
    for part in unit.parts() {
        let Ok((kind, fields)) = part_fields(text, &part.name) else { continue };
        let mut changed = Vec::new();
        for (name, value) in fields {
            let Ok(number) = parse_number(&value) else { continue };
            let is_volts = matches!(name.as_str(), "volts" | "plate.volts" | "pickup_volts" | "dropout_volts");
            // A capacitor may withstand more than it needs to, never less.
            if is_volts && (!matches!(kind.as_str(), "run-capacitor" | "start-capacitor") || volts > 1.0) {
                changed.push((name, rounded(number * volts)));
            } else if name == "plate.main_ohms" || name == "plate.start_ohms" {
                changed.push((name, String::new()));
            } else if let Some(number) = turned(&name, number) {
                changed.push((name, rounded(number)));
            }
        }
        if !changed.is_empty() {
            edits.push(Edit::SetPart { name: part.name.clone(), kind, fields: changed });
        }
    }
    edits
}

/// Two decimals are plenty for a typical figure.
fn rounded(value: f64) -> String {
    format!("{}", (value * 100.0).round() / 100.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bench::job::edit::apply;
    use bench::job::{read, starters};

    #[test]
    fn every_starter_stands_on_every_supply() {
        for starter in starters() {
            for (name, to) in SUPPLIES {
                let job = read("starter", starter.text).unwrap();
                let mut text = starter.text.to_owned();
                for edit in turned_to(starter.text, &job, to) {
                    text = apply(&text, &edit).unwrap();
                }
                let turned =
                    read("turned", &text).unwrap_or_else(|problems| panic!("{} at {name}: {problems}", starter.name));
                let supply = turned.unit.parts()[turned.unit.supply()].kind.supply().unwrap();
                assert_eq!((supply.volts, supply.hertz), (to.volts, to.hertz), "{}", starter.name);
                assert_eq!(turned.unit.parts().len(), job.unit.parts().len());
            }
        }
    }
}
