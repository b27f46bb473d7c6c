//! `heatrun`: where the temperatures of a log are going, and whether that is below the limit.

use crate::commands::{logged_run, named};
use crate::demos::HEAT_RUN_DEMO;
use crate::exit::{CODES, Failure};
use crate::input;
use crate::page;
use crate::report::{heat_run as report, heat_run_json};
use ::record::{Rest, WindingByOhms};
use proof::heat_run::finding::{Asked, Finding, find};
use proof::heat_run::import::header::{HOURS, MINUTES, Quantity, SECONDS, Unit};
use proof::heat_run::import::{Log, Options, read};
use proof::heat_run::limit::Limit;
use proof::heat_run::resistance::{AtEnd, AtSwitchOff, METALS, Metal, NotCarriedBack, at_switch_off, judge};
use proof::heat_run::verdict::Verdict;
use proof::heat_run::words::{Scale, switch_off_words};
use proof::insulation::Method;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Say where the temperatures of a heat run are going, how sure that is, and whether the run may stop.
///
/// Takes a log as comma-separated values (docs/heat-run.md) while the run goes on or after it, or with --run what was logged
/// in a run of a job. A log of ohms after switching off gives the temperature of the winding by its resistance.
#[derive(clap::Args)]
#[command(after_help = CODES)]
pub struct HeatRun {
    /// The log, or with --run the job file.
    #[arg(required_unless_present = "demo")]
    file: Option<PathBuf>,
    /// Judge what was logged in this run of a job.
    #[arg(long, conflicts_with = "demo")]
    run: Option<String>,
    /// What temperatures must stay below: CELSIUS for all, or COLUMN=CELSIUS; may be given several times.
    #[arg(long = "limit", value_name = "CELSIUS")]
    limits: Vec<String>,
    /// Insulation class of the windings, such as B or F: its limit holds for all temperatures without a limit of their own. Without
    /// it windings of a job's run are held to their plates, or the class noted for the job.
    #[arg(long)]
    class: Option<String>,
    /// Standard whose limits hold for the class.
    #[arg(long, default_value = "IEC 60335-1")]
    standard: String,
    /// Temperature of the room, if it is not in the log.
    #[arg(long, value_name = "CELSIUS", allow_negative_numbers = true)]
    ambient: Option<f64>,
    /// Temperature of the room that the limit is meant for: what is measured is corrected to it, degree for degree.
    #[arg(long, value_name = "CELSIUS", allow_negative_numbers = true)]
    corrected_to: Option<f64>,
    /// Unit of the times, if the log does not say: s, min or h.
    #[arg(long, value_name = "UNIT")]
    time_unit: Option<String>,
    /// You switched the unit off where the current stops at the end; without it that may have been a cutout.
    #[arg(long)]
    switched_off: bool,
    /// Ohms of the winding when cold, for a log of ohms after switching off.
    #[arg(long, value_name = "OHMS", requires = "cold_celsius")]
    cold_ohms: Option<f64>,
    /// Temperature of the winding at which its cold ohms were read.
    #[arg(long, value_name = "CELSIUS", requires = "cold_ohms", allow_negative_numbers = true)]
    cold_celsius: Option<f64>,
    /// What the winding is made of: copper (K = 234.5), copper-machines (K = 235) or aluminium (K = 225).
    #[arg(long, default_value = "copper")]
    metal: String,
    /// Use the example that comes with the program.
    #[arg(long, conflicts_with = "file")]
    demo: bool,
    /// Print the finding as JSON (docs/json-output.md).
    #[arg(long)]
    json: bool,
}

/// A winding's resistance, carried back to switching off.
pub struct ByResistance {
    /// Name of the column.
    pub name: String,
    /// What the winding is made of.
    pub metal: Metal,
    /// Ohms and temperature when cold.
    pub cold: (f64, f64),
    /// The resistance at switching off, or why there is none.
    pub found: Result<AtSwitchOff, NotCarriedBack>,
    /// What it is held to.
    pub limit: Option<Limit>,
    /// The room at the end, if it is known.
    pub room_celsius: Option<f64>,
    /// What is said of it.
    pub end: Option<AtEnd>,
    /// Whether the run had come to rest, where what was logged in it tells.
    pub rest: Option<Rest>,
}

impl ByResistance {
    /// A winding of a job.
    fn of_job(winding: WindingByOhms) -> Self {
        ByResistance {
            name: winding.name,
            metal: winding.metal,
            cold: winding.cold,
            found: winding.found,
            limit: winding.limit,
            room_celsius: Some(winding.room_celsius),
            end: winding.end,
            rest: Some(winding.rest),
        }
    }

    /// What is done with the run: a winding that was cool enough proves nothing while it was still warming.
    pub fn verdict(&self) -> Verdict {
        match self.end.map(|end| end.verdict) {
            Some(Verdict::Pass) if self.rest.as_ref().is_some_and(|rest| !rest.came()) => Verdict::NotYet,
            verdict => verdict.unwrap_or(Verdict::NotYet),
        }
    }

    /// That in words.
    pub fn words(&self) -> Option<String> {
        let (end, limit) = (self.end?, self.limit.as_ref());
        Some(match (end.verdict, &self.rest) {
            (Verdict::Pass, Some(rest)) if rest.came() => {
                format!("pass: below its limit at switching off; {}", rest.words())
            }
            (Verdict::Pass, Some(rest)) => format!("not yet: below its limit at switching off, but {}", rest.words()),
            _ => switch_off_words(&end, limit, Scale::CELSIUS),
        })
    }
}

/// Limits that are no slips of the keyboard, degrees Celsius.
const LIMITS: std::ops::RangeInclusive<f64> = 30.0..=600.0;
/// Rooms that are none.
const ROOMS: std::ops::RangeInclusive<f64> = -40.0..=70.0;

impl HeatRun {
    pub fn run(self) -> Result<(), Failure> {
        let (mut asked, options) = self.asked()?;
        let metal = METALS.into_iter().find(|metal| metal.key() == self.metal).ok_or_else(|| {
            let known: Vec<&str> = METALS.iter().map(|metal| metal.key()).collect();
            Failure::WrongUse(format!("no metal '{}'; there is {}", self.metal, known.join(", ")))
        })?;
        let mut of_job: Vec<ByResistance> = Vec::new();
        let (title, log) = match (&self.file, &self.run) {
            (Some(path), Some(run)) => {
                let job = input::read_file(path)?.load()?;
                let logged = logged_run::log(&job, named::run(&job, run)?)?;
                asked.room_celsius = asked.room_celsius.or(Some(logged.room_celsius));
                asked.priors = logged.priors;
                asked.was_never_on = logged.is_off;
                asked.was_switched_off |= !logged.by_ohms.is_empty();
                of_job = logged.by_ohms.into_iter().map(ByResistance::of_job).collect();
                if asked.limit.is_none() && self.class.is_none() {
                    let is_named =
                        |name: &str| asked.named_limits.iter().any(|(known, _)| known.eq_ignore_ascii_case(name));
                    let own: Vec<_> = logged.limits.into_iter().filter(|(name, _)| !is_named(name)).collect();
                    asked.named_limits.extend(own);
                }
                (format!("{}: run {run}", job.unit.name), logged.log)
            }
            (Some(path), None) => (path.display().to_string(), read_log(path, &options)?),
            (None, _) => {
                if asked.limit.is_none() && asked.named_limits.is_empty() {
                    asked.named_limits = vec![example("winding", 140.0), example("shell", 100.0)];
                }
                let name = format!("demos/{}.csv (invented)", HEAT_RUN_DEMO.name);
                (name, import(HEAT_RUN_DEMO.text.as_bytes(), "the example", &options)?)
            }
        };
        let room_celsius = room_at_end(&log).or(asked.room_celsius);
        let mut resistances = self.resistances(&log, metal, &asked, room_celsius)?;
        asked.named_limits.retain(|(name, _)| !resistances.iter().any(|entry| entry.name.eq_ignore_ascii_case(name)));
        resistances.extend(of_job);
        if asked.limit.is_none() {
            asked.limit = self.limit_of_class(Method::Thermocouple, room_celsius)?;
        }
        let has_temperatures =
            log.channels.iter().any(|channel| channel.quantity == Quantity::Temperature && !channel.is_room);
        let found: Option<Finding> = match has_temperatures {
            true => Some(find(&log, &asked).map_err(|error| Failure::WrongUse(error.to_string()))?),
            false => None,
        };
        if found.is_none() && resistances.is_empty() {
            let words = "a log of ohms needs the cold ones: --cold-ohms OHMS --cold-celsius CELSIUS";
            return Err(Failure::WrongUse(words.into()));
        }
        let mut page = page::standard();
        if self.json {
            let value = heat_run_json::finding(&title, &log, found.as_ref(), &resistances);
            return Ok(page.raw(&format!("{value:#}"))?);
        }
        report::show(&mut page, &title, &log, found.as_ref(), &resistances)?;
        Ok(())
    }

    fn asked(&self) -> Result<(Asked, Options), Failure> {
        let time_unit = match self.time_unit.as_deref() {
            None => None,
            Some(text) => Some(unit_of_time(text)?),
        };
        for (what, value) in [("--ambient", self.ambient), ("--corrected-to", self.corrected_to)] {
            if value.is_some_and(|value| !ROOMS.contains(&value)) {
                return Err(Failure::WrongUse(format!("{what} is no room's temperature; expected -40 to 70 °C")));
            }
        }
        if self.cold_ohms.is_some_and(|ohms| !(ohms.is_finite() && ohms > 0.0)) {
            return Err(Failure::WrongUse("--cold-ohms must be above zero".into()));
        }
        if self.cold_celsius.is_some_and(|celsius| !ROOMS.contains(&celsius)) {
            return Err(Failure::WrongUse("--cold-celsius is no cold winding's; expected -40 to 70 °C".into()));
        }
        let mut asked = Asked { room_celsius: self.ambient, was_switched_off: self.switched_off, ..Asked::default() };
        // A class that does not exist is refused before anything is read.
        self.limit_of_class(Method::Thermocouple, self.ambient)?;
        for text in &self.limits {
            let (name, celsius) = match text.rsplit_once('=') {
                Some((name, celsius)) => (Some(name.trim()), celsius),
                None => (None, text.as_str()),
            };
            let celsius = celsius.trim().parse::<f64>().ok().filter(|celsius| LIMITS.contains(celsius)).ok_or_else(|| {
                Failure::WrongUse(format!(
                    "--limit {text}: a limit is a number of degrees Celsius from 30 to 600, for all temperatures or for one: \
                     --limit 120, --limit \"winding=120\""
                ))
            })?;
            let limit = Limit {
                celsius,
                words: name.map_or("limit given".to_owned(), |name| format!("limit given for {name}")),
                source: "--limit".into(),
                room_celsius: self.corrected_to,
            };
            match name {
                Some(name) => asked.named_limits.push((name.to_owned(), limit)),
                None => asked.limit = Some(limit),
            }
        }
        Ok((asked, Options { time_unit, room_celsius: self.ambient }))
    }

    /// Every column of ohms, carried back to switching off and held to its limit.
    fn resistances(
        &self,
        log: &Log,
        metal: Metal,
        asked: &Asked,
        room_celsius: Option<f64>,
    ) -> Result<Vec<ByResistance>, Failure> {
        let Some(cold) = self.cold_ohms.zip(self.cold_celsius) else { return Ok(vec![]) };
        let of_class = self.limit_of_class(Method::Resistance, room_celsius)?;
        let of_ohms = log.channels.iter().filter(|channel| channel.quantity == Quantity::Ohms);
        let each = of_ohms.map(|channel| {
            let readings: Vec<(f64, f64)> =
                channel.bins.means().map(|(seconds, ohms)| (seconds + log.starts_at_seconds, ohms)).collect();
            let found = at_switch_off(&readings);
            let named = asked.named_limits.iter().find(|(name, _)| channel.name.eq_ignore_ascii_case(name));
            let limit = named.map(|(_, limit)| limit).or(asked.limit.as_ref()).or(of_class.as_ref()).cloned();
            let end = found.as_ref().ok().map(|found| judge(found, metal, cold, room_celsius, limit.as_ref()));
            ByResistance { name: channel.name.clone(), metal, cold, found, limit, room_celsius, end, rest: None }
        });
        Ok(each.collect())
    }

    /// The limit of the class that was asked for, in a room.
    fn limit_of_class(&self, method: Method, room_celsius: Option<f64>) -> Result<Option<Limit>, Failure> {
        let of = |class: &String| Limit::of_class(class, &self.standard, method, room_celsius);
        self.class.as_ref().map(of).transpose().map_err(|error| Failure::WrongUse(error.to_string()))
    }
}

/// The room where the log ends, if it was logged.
fn room_at_end(log: &Log) -> Option<f64> {
    let room = log.channels.iter().find(|channel| channel.is_room)?;
    room.bins.means().last().map(|(_, celsius)| celsius)
}

/// A limit of the example.
fn example(name: &str, celsius: f64) -> (String, Limit) {
    let words = format!("{name} of the example");
    (name.to_owned(), Limit { celsius, words, source: "invented".into(), room_celsius: None })
}

fn unit_of_time(text: &str) -> Result<Unit, Failure> {
    match text {
        "s" => Ok(SECONDS),
        "min" => Ok(MINUTES),
        "h" => Ok(HOURS),
        _ => Err(Failure::WrongUse(format!("no unit of time '{text}'; there is s, min, h"))),
    }
}

fn read_log(path: &Path, options: &Options) -> Result<Log, Failure> {
    let refuse = |error: std::io::Error| {
        let hint = match error.kind() {
            std::io::ErrorKind::NotFound => "; check the name, or try: faultwright heatrun --demo",
            _ => "",
        };
        Failure::WrongUse(format!("cannot read {}: {error}{hint}", path.display()))
    };
    let file = std::fs::File::open(path).map_err(refuse)?;
    if file.metadata().map_err(refuse)?.is_dir() {
        return Err(Failure::WrongUse(format!("{} is a folder; name a log in it", path.display())));
    }
    import(file, &path.display().to_string(), options)
}

fn import(source: impl Read, name: &str, options: &Options) -> Result<Log, Failure> {
    read(source, options).map_err(|error| Failure::Unsolvable(format!("{name}: {error}")))
}
