//! The papers as plain text, to read in a terminal or to print.

use std::fmt::{Display, Write};

use trug::ground::caution::Caution;
use trug::ground::choice::Choice;
use trug::ground::money::Money;
use trug::prep::plan::{PrepDay, PrepSheets, PrepTask, said};
use trug::pull_list::pull::{PullLine, PullList};
use trug::stem_order::order::{OrderDelivery, StemOrder};
use trug::studio::Studio;

/// Text that grows line by line.
#[derive(Default)]
struct Paper(String);

impl Paper {
    fn line(&mut self, line: impl Display) {
        // Writing to a String does not fail.
        let _ = writeln!(self.0, "{line}");
    }

    /// A heading, underlined, with a line free before it.
    fn heading(&mut self, heading: &str) {
        if !self.0.is_empty() {
            self.line("");
        }
        self.line(heading);
        self.line("-".repeat(heading.chars().count()));
    }

    fn list(&mut self, heading: &str, lines: &[String]) {
        if !lines.is_empty() {
            self.heading(heading);
            for line in lines {
                self.line(format_args!("! {line}"));
            }
        }
    }

    fn cautions(&mut self, cautions: &[Caution]) {
        for caution in cautions {
            self.line(format_args!("! {}: {}", caution.name(), caution.sentence()));
        }
    }
}

pub(super) fn order(order: &StemOrder, studio: &Studio) -> String {
    let mut paper = Paper::default();
    let money = |amount: Money| studio.formats.money(amount);
    paper.line(format_args!("STEM ORDER of {}", studio.name));
    for event in &order.events {
        paper.line(format_args!("for {}, {}", event.name, studio.weekday(event.day)));
    }
    for delivery in &order.deliveries {
        supplier(&mut paper, delivery, studio);
    }
    paper.heading("Total");
    paper.line(format_args!(
        "Goods {}, fees {}: {}",
        money(order.goods),
        money(order.fees),
        money(order.total)
    ));
    paper.line(if order.proven {
        "No order for the same stems and days costs less: proven.".to_owned()
    } else {
        format!("At most {} more than the least possible.", money(order.gap()))
    });
    if order.pooling.comparable() {
        let alone = money(order.pooling.total());
        paper.line(format_args!("Event by event it would be {alone}: saved {}.", money(order.saved())));
    }
    for share in &order.shares {
        if let Some(event) = order.events.get(share.event) {
            paper.line(format_args!("{:>12}  {}", money(share.total), event.name));
        }
    }
    let unmet = |unmet: &trug::stem_order::order::UnmetNeed| {
        format!("{} × {}: {} {}", unmet.stems, unmet.name, unmet.why, unmet.mend)
    };
    paper.list("Not to be had", &order.unmet.iter().map(unmet).collect::<Vec<_>>());
    let short = order.loans.iter().filter(|loan| loan.shortfall > 0);
    let short = short.map(|loan| {
        format!("{}: {} needed, {} owned, {} missing", loan.name, loan.need, loan.owned, loan.shortfall)
    });
    paper.list("Missing on the shelf", &short.collect::<Vec<_>>());
    paper.list("To know", &order.warnings);
    paper.heading("Cautions");
    paper.cautions(&order.cautions().list());
    paper.0
}

fn supplier(paper: &mut Paper, delivery: &OrderDelivery, studio: &Studio) {
    let money = |amount: Money| studio.formats.money(amount);
    paper.heading(&format!("{}, for {}", delivery.name, studio.weekday(delivery.day)));
    let by = format!("Order by {} {}", studio.weekday(delivery.order_by_day), delivery.order_by_time);
    paper.line(if delivery.cutoff_passed { format!("{by}: that has passed") } else { by });
    let reached = [
        ("account", &delivery.account),
        ("", &delivery.contact),
        ("", &delivery.email),
        ("", &delivery.phone),
    ];
    let reached = reached.iter().filter(|(_, value)| !value.is_empty());
    let reached = reached.map(|(name, value)| format!("{name} {value}").trim().to_owned());
    paper.line(reached.collect::<Vec<_>>().join(", "));
    for line in &delivery.lines {
        let grade = [line.colour.as_str(), line.grade.as_str()];
        let grade = grade.into_iter().filter(|word| !word.is_empty()).collect::<Vec<_>>().join(", ");
        let what = if grade.is_empty() { line.name.clone() } else { format!("{} ({grade})", line.name) };
        let pack = format!("{} of {}", line.pack_name, line.pack_size);
        let (price, goods) = (money(line.price), money(line.goods));
        paper.line(format_args!("{:>4} × {pack:<14} {what}, at {price}: {goods}", line.packs));
    }
    let (goods, fee, total) = (money(delivery.goods), money(delivery.fee), money(delivery.total));
    paper.line(format_args!("     Goods {goods}, delivery {fee}: {total}"));
}

pub(super) fn prep(sheets: &PrepSheets, studio: &Studio) -> String {
    let mut paper = Paper::default();
    paper.line(format_args!("PREP SHEETS of {}", studio.name));
    for day in &sheets.days {
        bench_day(&mut paper, day, studio);
    }
    let conflicts = sheets.conflicts.iter().map(|conflict| conflict.sentence.clone());
    paper.list("What does not fit", &conflicts.collect::<Vec<_>>());
    paper.list("Not counted yet", &sheets.open_counts);
    paper.0
}

fn bench_day(paper: &mut Paper, day: &PrepDay, studio: &Studio) {
    paper.heading(&format!("{}, {}: {}", studio.weekday(day.day), day.hours(), day.events.join("; ")));
    for step in &day.steps {
        paper.line(step.step.label());
        for task in &step.tasks {
            bench_task(paper, task);
        }
    }
    paper.cautions(&day.cautions);
}

fn bench_task(paper: &mut Paper, task: &PrepTask) {
    let mut rest = vec![counted(&task.unit, &task.what)];
    rest.extend((!task.wanted_for.is_empty()).then(|| task.wanted_for.clone()));
    rest.extend(task.not_before.map(|moment| format!("not before {}", said(moment))));
    rest.extend(task.hours());
    paper.line(format_args!("[ ] {:>4} {}", task.count, rest.join("; ")));
    for how in &task.how {
        paper.line(format_args!("           {how}"));
    }
}

pub(super) fn pull(lists: &[PullList], studio: &Studio) -> String {
    let mut paper = Paper::default();
    for list in lists {
        paper.heading(&format!("PULL LIST, {}, {}", list.event, studio.weekday(list.day)));
        let set_up = list.set_up_time.map(|time| format!("set up from {time}"));
        let facts = [list.client.clone(), list.venue.clone(), set_up.unwrap_or_default()];
        let facts = facts.into_iter().filter(|fact| !fact.is_empty());
        paper.line(facts.collect::<Vec<_>>().join("; "));
        for group in &list.groups {
            paper.line(&group.heading);
            for line in &group.lines {
                pull_line(&mut paper, line);
            }
        }
        for line in list.open_counts.iter().chain(&list.shortages) {
            paper.line(format_args!("! {line}"));
        }
        paper.cautions(&list.cautions);
    }
    paper.0
}

fn pull_line(paper: &mut Paper, line: &PullLine) {
    let back = if line.comes_back { "comes back" } else { "" };
    let people = if line.two_people { "two people" } else { "" };
    let what = counted(&line.unit, &line.name);
    let rest = [what.as_str(), back, people, &line.note].into_iter().filter(|word| !word.is_empty());
    paper.line(format_args!("[ ] {:>4} {}", line.count, rest.collect::<Vec<_>>().join("; ")));
}

fn counted(unit: &str, what: &str) -> String {
    if unit.is_empty() { what.to_owned() } else { format!("{unit} {what}") }
}
