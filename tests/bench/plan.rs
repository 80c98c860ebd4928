//! How fast orders are planned, beside a general integer solver (`scipy.optimize.milp`, `HiGHS`, gap 0) on the same machine in
//! the same run: `cargo bench --bench plan`. Prints seconds and ratios by size, asserts nothing.
//!
//! The short form takes some cases of each size and gives scipy 20 s a case; `cargo bench --bench plan -- --long` takes
//! all and gives it 120 s; seconds with a + end at the limit, not at a proof. Needs a Python with scipy (`PYTHON=…/bin/python3`, else `python3`); without one the seconds
//! recorded with the cases are the comparison.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a bench fails by panicking")]
#![allow(clippy::float_arithmetic, reason = "seconds are compared")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::process::Command;
use std::time::{Duration, Instant};

use trug::stem_order::buying_plan::json::{Case, read};
use trug::stem_order::buying_plan::{Plan, Problem};

const FILES: [&str; 4] = ["orders.json", "orders-tight.json", "orders-random.json", "orders-hard.json"];
const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/fixtures");
const SCRIPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/outside/remake_reference.py");
const LIMIT: Duration = Duration::from_secs(20);
/// Cases of each size in the short form.
const FEW: usize = 2;

struct Measured {
    file: &'static str,
    name: String,
    materials: usize,
    ours: f64,
    plan: Plan,
    recorded: Option<f64>,
}

fn main() {
    let long = std::env::args().any(|argument| argument == "--long");
    let python = std::env::var("PYTHON").unwrap_or_else(|_| "python3".into());
    let scipy = has_scipy(&python);
    if !scipy {
        println!(
            "{python} has no scipy: compared with the seconds recorded in the file, from another machine."
        );
    }
    let cases: Vec<Measured> = FILES.into_iter().flat_map(|file| chosen(file, long)).collect();
    // Asked before scipy runs, though it runs in a process of its own.
    let memory = most_memory();
    println!(
        "{:<20} {:>9} {:>10} {:>8} {:>10} {:>8}",
        "case", "materials", "cost", "ours", "reference", "ratio"
    );
    let mut ratios: BTreeMap<usize, Vec<f64>> = BTreeMap::new();
    for case in &cases {
        let (reference, cut_short) = if scipy { solved(&python, case, long) } else { (case.recorded, false) };
        let ratio = reference.map(|seconds| seconds / case.ours);
        if let Some(ratio) = ratio {
            ratios.entry(case.materials).or_default().push(ratio);
        }
        let proof = if case.plan.proven { "" } else { "  not proven" };
        let words = |number: Option<f64>, unit: &str| number.map_or("-".into(), |n| format!("{n:.2}{unit}"));
        println!(
            "{:<20} {:>9} {:>10} {:>7.4}s {:>10} {:>8}{proof}",
            case.name,
            case.materials,
            case.plan.cost,
            case.ours,
            words(reference, if cut_short { "s+" } else { "s" }),
            words(ratio, "x"),
        );
    }
    println!("\nReference seconds to ours, by materials (aim 10 from 30 materials up):");
    for (materials, ratios) in &mut ratios {
        ratios.sort_unstable_by(f64::total_cmp);
        println!("{materials:>5}: least {:.1}, median {:.1}", ratios[0], ratios[ratios.len() / 2]);
    }
    let open = cases.iter().filter(|case| !case.plan.proven).count();
    println!("{open} of {} not proven. Most memory: {memory} (aim 200 MB).", cases.len());
}

/// The cases of a file, planned: all of them or a few of each size.
fn chosen(file: &'static str, long: bool) -> Vec<Measured> {
    let text = fs::read_to_string(format!("{FOLDER}/{file}")).unwrap();
    let values: Vec<serde_json::Value> = serde_json::from_str(&text).unwrap();
    let mut seen: BTreeMap<usize, usize> = BTreeMap::new();
    let mut measured = Vec::new();
    for (case, value) in read(&text).unwrap().into_iter().zip(values) {
        let materials = materials(&case.problem);
        let number = seen.entry(materials).or_default();
        *number += 1;
        if long || (*number <= FEW && materials >= 8) {
            measured.push(measure(file, case, materials, value["reference_seconds"].as_f64()));
        }
    }
    measured
}

fn measure(file: &'static str, case: Case, materials: usize, recorded: Option<f64>) -> Measured {
    let mut seconds = Vec::new();
    let mut plan = Plan::default();
    for _ in 0..3 {
        let start = Instant::now();
        plan = trug::stem_order::buying_plan::plan(&case.problem, &mut || start.elapsed() < LIMIT);
        seconds.push(start.elapsed().as_secs_f64());
    }
    seconds.sort_unstable_by(f64::total_cmp);
    Measured { file, name: case.name.unwrap_or_default(), materials, ours: seconds[1], plan, recorded }
}

fn materials(problem: &Problem) -> usize {
    problem.offers.iter().map(|offer| &offer.material).collect::<BTreeSet<_>>().len()
}

fn has_scipy(python: &str) -> bool {
    let tried = Command::new(python).args(["-c", "import scipy.optimize"]).output();
    tried.is_ok_and(|output| output.status.success())
}

/// Seconds of the general solver, and whether they end at its limit, not at its proof.
fn solved(python: &str, case: &Measured, long: bool) -> (Option<f64>, bool) {
    answer(python, case, long).map_or((None, false), |(seconds, proven)| (Some(seconds), !proven))
}

fn answer(python: &str, case: &Measured, long: bool) -> Option<(f64, bool)> {
    let output = Command::new(python)
        .args([SCRIPT, &format!("{FOLDER}/{}", case.file), "--only", &case.name])
        .args(["--limit", if long { "120" } else { "20" }])
        .output()
        .ok()?;
    let said = String::from_utf8(output.stdout).ok()?;
    let line = said.lines().find(|line| line.starts_with(&case.name))?;
    let mut words = line.split_whitespace().skip(1);
    let (cost, proven) = (words.next()?, words.next()? == "proven");
    if proven && cost != case.plan.cost.to_string() {
        println!("{}: the reference comes to {cost}", case.name);
    }
    Some((words.next()?.strip_suffix('s')?.parse().ok()?, proven))
}

/// The peak of this process's memory, as Linux says.
fn most_memory() -> String {
    let status = fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    line.map_or_else(|| "not known on this system".to_owned(), |size| size.trim().to_owned())
}
