//! `trug plan`: the buying plan alone, for a problem from a file: for measuring it and for comparing it with other solvers.
//! Every plan is checked again in whole numbers by the calculation before it is written.

use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use anyhow::{Context, bail};
use clap::Args;
use serde::Serialize;
use trug::stem_order::buying_plan::json::{Answer, Case, answer, read};
use trug::stem_order::buying_plan::plan;

#[derive(Args)]
pub(crate) struct PlanArgs {
    /// A problem, or a list of problems, as JSON; - reads the standard input
    file: PathBuf,
    /// The most seconds a problem may take
    #[arg(long, value_name = "N", default_value_t = 10, value_parser = clap::value_parser!(u64).range(..=86_400))]
    seconds: u64,
}

#[derive(Serialize)]
struct Timed {
    #[serde(flatten)]
    answer: Answer,
    seconds: f64,
}

pub(crate) fn run(args: &PlanArgs) -> anyhow::Result<()> {
    let text = text(&args.file)?;
    let cases = read(&text).with_context(|| format!("{} is not planned", shown(&args.file)))?;
    let limit = Duration::from_secs(args.seconds);
    let answers: Vec<Timed> = cases.iter().map(|case| planned(case, limit)).collect::<Result<_, _>>()?;
    let written = match answers.as_slice() {
        [only] if !text.trim_start().starts_with('[') => serde_json::to_string_pretty(only)?,
        list => serde_json::to_string_pretty(list)?,
    };
    match io::stdout().lock().write_all(format!("{written}\n").as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err(error).context("The plan is not written")
        }
        _ => Ok(()),
    }
}

fn text(file: &Path) -> anyhow::Result<String> {
    let mut text = String::new();
    if file.as_os_str() == "-" {
        io::stdin().read_to_string(&mut text).context("The standard input cannot be read")?;
    } else {
        text = std::fs::read_to_string(file).with_context(|| format!("{} cannot be read", file.display()))?;
    }
    Ok(text)
}

fn shown(file: &Path) -> String {
    if file.as_os_str() == "-" { "The standard input".into() } else { file.display().to_string() }
}

fn planned(case: &Case, limit: Duration) -> anyhow::Result<Timed> {
    let start = Instant::now();
    let plan = plan(&case.problem, &mut || start.elapsed() < limit);
    let seconds = start.elapsed().as_secs_f64();
    if let Some(fault) = &plan.fault {
        let name = case.name.as_deref().unwrap_or("the problem");
        bail!("The plan of {name} does not pass its check and is not shown: {fault}.");
    }
    Ok(Timed { answer: answer(case, &plan), seconds })
}
