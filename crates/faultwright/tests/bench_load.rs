//! Fifty people at one bench, each at a job of their own: how long do they wait? A measurement, not a promise.
//!
//!     cargo test --release -p faultwright --test bench_load -- --ignored --nocapture
//!
//! `LOAD_SECONDS` sets how long they work (60 if it is not given). They share the machine with the bench itself.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod bench_server;

use bench::Value;
use bench_server::{Numbers, Server};
use diagnosis::checks::Action;
use diagnosis::words::points;
use reqwest::{Client, Response};
use std::time::{Duration, Instant};
use tokio::task::JoinHandle;

const PEOPLE: u64 = 50;
/// Between one entry and the next, seconds: probes moved, figure read and typed.
const PAUSE: (f64, f64) = (1.0, 3.0);
/// The jobs they take in, in turn. The data in them are invented.
const JOBS: [&str; 3] = [
    include_str!("../../../demos/air-curtain.toml"),
    include_str!("../../../demos/drying-cabinet.toml"),
    include_str!("../../../demos/dough-proofer.toml"),
];
/// No two readings of the same thing are alike: they differ by up to this share, half a per cent.
const SCATTER: f64 = 0.005;

/// What one person went through.
#[derive(Default)]
struct Log {
    /// From sending an entry to having its answer, milliseconds.
    entries: Vec<f64>,
    /// From asking for a ranking to having it, milliseconds.
    findings: Vec<f64>,
    /// Rankings not waited for, because the next entry was there first.
    overtaken: usize,
    errors: Vec<String>,
}

/// A job with someone at it.
struct Person {
    http: Client,
    base: String,
    token: String,
    job: String,
    /// Setup, where, value, unit, of every reading in the demo.
    readings: Vec<(String, String, Value, &'static str)>,
    numbers: Numbers,
}

impl Person {
    /// Comes to the bench, takes a job in, and confirms the precautions of its live setups.
    async fn come(base: &str, number: u64) -> Self {
        let text = JOBS[number as usize % JOBS.len()];
        let demo = bench::job::read("demo", text).unwrap();
        let reading = |reading: &bench::Reading| {
            let place = points(&demo.unit, Action::Read(reading.measure)).join(" ");
            (demo.setups[reading.setup].name.clone(), place, reading.value, reading.measure.unit())
        };
        let readings = demo.readings.iter().map(reading).collect();
        let http = Client::builder().cookie_store(true).redirect(reqwest::redirect::Policy::none()).build().unwrap();
        let page = http.get(base).send().await.unwrap().text().await.unwrap();
        let (_, rest) = page.split_once("name=\"form_token\" value=\"").unwrap();
        let token = rest.split('"').next().unwrap().to_owned();
        let numbers = Numbers::seeded(number + 1);
        let mut person = Self { http, base: base.to_owned(), token, job: "/jobs".to_owned(), readings, numbers };
        let taken_in = person.post("/import", &[("text", text)]).await.unwrap();
        person.job = taken_in.headers()["location"].to_str().unwrap().to_owned();
        for setup in demo.setups.iter().filter(|setup| setup.energised) {
            let fields = [("setup", setup.name.as_str()), ("in-place", "yes")];
            assert_eq!(person.post("/precautions", &fields).await.unwrap().status(), 200);
        }
        person
    }

    async fn post(&self, rest: &str, fields: &[(&str, &str)]) -> reqwest::Result<Response> {
        let token = [("form_token", self.token.as_str())];
        let request = self.http.post(format!("{}{}{rest}", self.base, self.job)).form(&[&token, fields].concat());
        request.header("x-fragment", "1").send().await
    }

    /// Enters the readings of the demo again and again. The ranking is asked for after every entry and dropped when the
    /// next one was entered first, as the page's script does.
    async fn work(mut self, until: Instant) -> Log {
        let mut log = Log::default();
        let mut waiting: Option<JoinHandle<Result<f64, String>>> = None;
        for entry in 0.. {
            let pause = self.numbers.between(PAUSE.0, PAUSE.1);
            tokio::time::sleep(Duration::from_secs_f64(pause)).await;
            if Instant::now() >= until {
                break;
            }
            match self.enter(entry).await {
                Ok(milliseconds) => log.entries.push(milliseconds),
                Err(error) => log.errors.push(format!("entry: {error}")),
            }
            if let Some(overtaken) = waiting.take_if(|finding| !finding.is_finished()) {
                overtaken.abort();
                log.overtaken += 1;
            }
            log.take(waiting.take()).await;
            let request = self.http.get(format!("{}{}/finding", self.base, self.job)).header("x-fragment", "1");
            waiting = Some(tokio::spawn(timed(request)));
        }
        log.take(waiting).await;
        log
    }

    async fn enter(&mut self, entry: usize) -> Result<f64, String> {
        let (setup, place, value, unit) = self.readings[entry % self.readings.len()].clone();
        let value = match value {
            Value::Open => "open".to_owned(),
            Value::Number(number) => {
                format!("{:.4} {unit}", number * self.numbers.between(1.0 - SCATTER, 1.0 + SCATTER))
            }
        };
        let fields = [("form_token", &self.token), ("setup", &setup), ("line", &format!("{place} {value}"))];
        let request = self.http.post(format!("{}{}/readings", self.base, self.job)).form(&fields);
        timed(request.header("x-fragment", "1")).await
    }
}

impl Log {
    async fn take(&mut self, finding: Option<JoinHandle<Result<f64, String>>>) {
        let Some(finding) = finding else { return };
        match finding.await.unwrap() {
            Ok(milliseconds) => self.findings.push(milliseconds),
            Err(error) => self.errors.push(format!("finding: {error}")),
        }
    }
}

/// Milliseconds until the pieces of a page are here in full.
async fn timed(request: reqwest::RequestBuilder) -> Result<f64, String> {
    let begun = Instant::now();
    let answer = request.send().await.map_err(|error| format!("{error:?}"))?;
    let status = answer.status();
    let text = answer.text().await.map_err(|error| format!("{error:?}"))?;
    // A ranking that failed comes as a piece that says so.
    if status != 200 || text.contains("class=\"trouble\"") {
        return Err(format!("{status}: {text}"));
    }
    Ok(begun.elapsed().as_secs_f64() * 1e3)
}

/// The value that a share of all does not exceed (nearest rank).
fn percentile(sorted: &[f64], share: f64) -> f64 {
    let rank = (share * sorted.len() as f64).ceil().max(1.0) as usize;
    sorted.get(rank - 1).copied().unwrap_or(f64::NAN)
}

fn report(what: &str, mut milliseconds: Vec<f64>) {
    milliseconds.sort_by(f64::total_cmp);
    let [median, most, nearly_all, all] = [0.5, 0.95, 0.99, 1.0].map(|share| percentile(&milliseconds, share));
    eprintln!(
        "{what:>8}: {:5} answers, median {median:.1} ms, 95 % {most:.1} ms, 99 % {nearly_all:.1} ms, max {all:.1} ms",
        milliseconds.len()
    );
}

#[test]
#[ignore = "a measurement of a minute, for release builds"]
fn fifty_people_enter_readings() {
    let seconds: f64 = std::env::var("LOAD_SECONDS").map_or(60.0, |seconds| seconds.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(&folder.path().join("bench.sqlite"));
    let base = format!("http://127.0.0.1:{}", server.port);
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build().unwrap();
    let logs: Vec<Log> = runtime.block_on(async {
        let mut people = Vec::new();
        for number in 0..PEOPLE {
            people.push(Person::come(&base, number).await);
        }
        let until = Instant::now() + Duration::from_secs_f64(seconds);
        let working: Vec<_> = people.into_iter().map(|person| tokio::spawn(person.work(until))).collect();
        let mut logs = Vec::new();
        for person in working {
            logs.push(person.await.unwrap());
        }
        logs
    });
    let overtaken: usize = logs.iter().map(|log| log.overtaken).sum();
    let errors: Vec<&String> = logs.iter().flat_map(|log| &log.errors).collect();
    let profile = if cfg!(debug_assertions) { "dev" } else { "release" };
    let processors = std::thread::available_parallelism().unwrap();
    eprintln!("{PEOPLE} people for {seconds} s, {profile} build, {processors} processors: {} errors", errors.len());
    report("entries", logs.iter().flat_map(|log| log.entries.clone()).collect());
    report("findings", logs.iter().flat_map(|log| log.findings.clone()).collect());
    eprintln!("{overtaken} findings were overtaken by the next entry before they were here");
    assert!(errors.is_empty(), "{errors:?}");
}

#[test]
fn percentiles_are_those_of_the_nearest_rank() {
    // The example of the method: https://en.wikipedia.org/wiki/Percentile#The_nearest-rank_method
    let sorted = [15.0, 20.0, 35.0, 40.0, 50.0];
    assert_eq!([0.05, 0.3, 0.4, 0.5, 1.0].map(|share| percentile(&sorted, share)), [15.0, 20.0, 20.0, 35.0, 50.0]);
    assert!(percentile(&[], 0.5).is_nan());
}
