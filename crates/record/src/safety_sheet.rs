//! From what a job says about safety to the sheet that judges it.

use bench::Job;
use bench::safety::{Beyond, SafetyQuantity, SafetyTest, SafetyValue, TESTS};
use proof::safety::{
    Accuracy, Appliance, Comparison, Cord, Entered, Entry, Handling, ProtectionClass, Quantity, SafetyError, Scheme,
    Sheet, Test, Value,
};

/// The safety sheet of a job in a region.
///
/// # Errors
/// An entry that does not suit the class of the unit, or a name that is not known.
pub fn safety_sheet(job: &Job, region: &str) -> Result<Sheet, SafetyError> {
    let facts = job.safety_facts();
    let appliance = Appliance {
        class: ProtectionClass::named(facts.class)?,
        handling: facts.handling.map(Handling::named).transpose()?,
        heating_watts: facts.heating_watts,
        cord: facts.cord.map(|cord| Cord { metres: cord.metres, square_millimetres: cord.square_millimetres }),
        has_unearthed_metal: facts.has_unearthed_metal,
    };
    let entries = job.safety.tests.iter().map(|test| entry(job, test)).collect::<Result<Vec<_>, _>>()?;
    Sheet::new(Scheme::named(region)?, appliance, entries)
}

fn entry(job: &Job, given: &SafetyTest) -> Result<Entry, SafetyError> {
    let test = Test::named(given.test)?;
    let entered = match &given.value {
        SafetyValue::Ok => Entered::Passed,
        SafetyValue::Failed => Entered::Failed,
        SafetyValue::NotDone(reason) => Entered::NotDone(reason.clone()),
        &SafetyValue::Number { beyond, si, last_digit_si } => {
            let comparison = match beyond {
                Beyond::Neither => Comparison::Equal,
                Beyond::Above => Comparison::Above,
                Beyond::Below => Comparison::Below,
            };
            let measured = TESTS.iter().find(|(name, ..)| *name == given.test).and_then(|(_, quantity, _)| *quantity);
            let quantity = match measured {
                Some(SafetyQuantity::Amperes) => Quantity::Amperes,
                _ => Quantity::Ohms,
            };
            let accuracy = described(job, given, quantity).unwrap_or(Accuracy::usual(last_digit_si));
            Entered::Value(Value { quantity, comparison, si, accuracy })
        }
    };
    let SafetyTest { typed, at, date, instrument, .. } = given.clone();
    Ok(Entry { test, entered, typed, at, date, instrument })
}

/// The accuracy of the instrument, if it is a meter that the job describes.
fn described(job: &Job, given: &SafetyTest, quantity: Quantity) -> Option<Accuracy> {
    let meter = job.meters.iter().find(|meter| Some(&meter.name) == given.instrument.as_ref())?;
    let (accuracy, si) = match quantity {
        Quantity::Ohms => (meter.ohms, 1.0),
        Quantity::Amperes => (meter.milliamps, 1e-3),
    };
    Some(Accuracy { percent: accuracy.percent, absolute: si * accuracy.counts * accuracy.count })
}

#[cfg(test)]
mod tests {
    use super::*;
    use bench::safety::{CLASSES, REGIONS, USES};

    /// The job file and the sheet have names of their own; they must be the same.
    #[test]
    fn the_names_of_the_job_file_are_those_of_the_sheet() {
        assert_eq!(REGIONS, Scheme::ALL.map(Scheme::name));
        assert_eq!(CLASSES, ProtectionClass::ALL.map(ProtectionClass::name));
        assert_eq!(USES, Handling::ALL.map(Handling::name));
        assert_eq!(TESTS.map(|(name, ..)| name), Test::ALL.map(Test::name));
        for (name, measured, _) in TESTS {
            let quantity = Test::named(name).ok().and_then(Test::quantity);
            assert_eq!(quantity == Some(Quantity::Ohms), measured == Some(SafetyQuantity::Ohms), "{name}");
            assert_eq!(quantity.is_some(), measured.is_some(), "{name}");
        }
    }

    fn sheet(instrument: &str) -> Sheet {
        let text = format!(
            "[unit]\nname = \"x\"\n[parts.supply]\nkind = \"supply\"\nvolts = 230\nhertz = 50\n[parts.cord]\nkind = \"cord\"\n\
             [meters.tester]\nohms = {{ percent = 1, counts = 1, count = 0.001 }}\n\
             [safety]\ntests = [ {{ test = \"earth-continuity\", value = \"0.28 ohm\", instrument = \"{instrument}\" }} ]\n"
        );
        let job = bench::job::read("job.toml", &text)
            .map_err(|problems| problems.to_string())
            .unwrap_or_else(|p| panic!("{p}"));
        safety_sheet(&job, "europe").unwrap_or_else(|error| panic!("{error}"))
    }

    #[test]
    fn a_meter_that_the_job_describes_lends_its_accuracy() {
        // 0.28 ohm of at most 0.3: proven by one per cent and 0.001 ohm, not by the usual five per cent and two digits.
        let outcome = |instrument| sheet(instrument).row(Test::EarthContinuity).map(|row| row.outcome.words());
        assert_eq!(outcome("tester"), Some("pass"));
        assert_eq!(outcome("some box"), Some("not proven"));
    }
}
