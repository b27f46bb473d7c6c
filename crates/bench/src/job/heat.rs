//! Reads the air about the unit, and what sits on what.

use super::file::{HeatEntry, StreamEntry};
use super::load::Reader;
use super::names;
use crate::heat::air::USUAL_ROOM_CELSIUS;
use crate::heat::{Air, Logged, Stream, Touch};
use crate::kinds::Rating;
use crate::unit::Unit;
use machine::heat::air_stream_watts_per_kelvin;
use toml::Spanned;

/// By how much the air of a stream warms at all rated heaters in it, kelvins, if its litres are not given (engineering
/// judgement).
const USUAL_AIR_RISE: f64 = 40.0;
/// Heat that a small fan's stream carries if nothing is known of it, watts per kelvin: some 25 litres per second.
const USUAL_STREAM: f64 = 30.0;

impl Reader<'_, '_> {
    pub(super) fn air(&mut self, unit: &Unit, entry: &HeatEntry) -> Air {
        let room_celsius = self.room(entry.room_celsius.as_ref()).unwrap_or(USUAL_ROOM_CELSIUS);
        let mut air = Air { room_celsius, ..Air::default() };
        for stream in &entry.streams {
            air.streams.extend(self.stream(unit, stream));
        }
        for (part, on) in &entry.clamped {
            let Some(touch) = self.touch(unit, part, on) else { continue };
            let has_body = !unit.heat_of(touch.part).bodies.is_empty();
            if has_body { air.touches.push(touch) } else { air.capacitors.push(touch) }
        }
        air
    }

    /// A room temperature, if it is given and possible.
    pub(super) fn room(&mut self, celsius: Option<&Spanned<f64>>) -> Option<f64> {
        let given = celsius?;
        let value = *given.get_ref();
        if !(-40.0..=80.0).contains(&value) {
            let problem = self.problems.error(given.span(), format!("a room at {value} degrees Celsius"));
            problem.expected("room_celsius between -40 and 80").mend("degrees Celsius, not Fahrenheit");
            return None;
        }
        Some(value)
    }

    fn stream(&mut self, unit: &Unit, entry: &StreamEntry) -> Option<Stream> {
        let fan = self.part_named(unit, &entry.fan)?;
        if unit.parts()[fan].kind.synchronous_rpm(unit.hertz()).is_none() {
            let problem = self.problems.error(entry.fan.span(), format!("'{}' does not turn", entry.fan.get_ref()));
            problem.expected("the motor of a fan");
            return None;
        }
        let parts: Vec<usize> = entry.passes.iter().filter_map(|name| self.part_named(unit, name)).collect();
        let rated: f64 = parts
            .iter()
            .filter_map(|&part| match unit.parts()[part].kind.rating() {
                Some(Rating::Watts(watts)) => Some(watts),
                _ => None,
            })
            .sum();
        let usual = if rated > 0.0 { rated / USUAL_AIR_RISE } else { USUAL_STREAM };
        let litres = entry.litres_per_second.map(|litres| air_stream_watts_per_kelvin(litres.0 / 1000.0));
        Some(Stream { fan, parts, watts_per_kelvin: litres.unwrap_or(usual) })
    }

    fn touch(&mut self, unit: &Unit, part: &Spanned<String>, on: &Spanned<String>) -> Option<Touch> {
        let (feeling, place) = (self.part_named(unit, part), self.body_named(unit, on));
        let (feeling, (on_part, body)) = (feeling?, place?);
        let feels = !unit.heat_of(feeling).bodies.is_empty() || unit.parts()[feeling].kind.max_celsius().is_some();
        if !feels || feeling == on_part {
            let problem = self.problems.error(part.span(), format!("'{}' is clamped to nothing", part.get_ref()));
            let expected =
                "a cutout, thermostat, thermal fuse or capacitor with max_celsius, and the body of another part";
            problem.expected(expected);
            return None;
        }
        Some(Touch { part: feeling, on: on_part, body })
    }

    /// A body of a part, or a problem.
    pub(super) fn body_named(&mut self, unit: &Unit, text: &Spanned<String>) -> Option<(usize, usize)> {
        let typed = text.get_ref();
        let has_celsius = |&(part, body): &(usize, usize)| unit.heat_of(part).bodies[body].has_celsius();
        let named = unit.find_body(typed);
        let found = named.filter(has_celsius);
        if found.is_none() && !self.unread.has_part_of(typed) {
            let known: Vec<String> =
                unit.bodies().filter(has_celsius).map(|(part, body)| unit.body_name(part, body)).collect();
            let message = match named {
                Some(_) => format!("no thermometer reads '{typed}': it is a measure of current"),
                None => format!("nothing called '{typed}' warms"),
            };
            let problem = self.problems.error(text.span(), message);
            problem.expected(format!("one of {}", known.join(", ")));
            problem.mend = other_place(unit, typed).or_else(|| names::mend(typed, &known));
        }
        found
    }
}

/// What to write for a place that people call by another name.
fn other_place(unit: &Unit, typed: &str) -> Option<String> {
    let (part, place) = typed.split_once('.').unwrap_or(("", typed));
    let is_wound = unit.find_part(part).is_some_and(|part| unit.winding_of(part).is_some());
    let second = unit.find_body(&format!("{typed}-winding"));
    match place.to_lowercase().as_str() {
        _ if let Some((part, body)) = second => Some(format!("write {}", unit.body_name(part, body))),
        "main" | "run" | "forward" if is_wound => Some(format!("write {part}.winding")),
        "surface" if is_wound => Some(format!(
            "write {part}.winding for a probe on the winding itself, {part}.core for one on iron or shell"
        )),
        "shell" | "frame" | "housing" | "case" if is_wound => {
            Some(format!("write {part}.core: iron and shell are one body"))
        }
        "air" | "ambient" | "outlet" => {
            let streams: Vec<String> = (0..unit.parts().len())
                .filter(|&part| unit.air().has_stream_at(part))
                .filter_map(|part| Logged::Air(part).celsius_place(unit))
                .collect();
            let behind = match streams.is_empty() {
                true => "that of a stream can be once [[heat.streams]] describes it".to_owned(),
                false => format!("that of a stream behind a part it passes as {}", streams.join(", ")),
            };
            Some(format!("write room for the air of the room; {behind}"))
        }
        _ => None,
    }
}
