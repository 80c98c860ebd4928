//! What comes of placed orders: line by line with what was said of it since, whom it serves now, and what nobody has
//! ordered yet.
//!
//! A line's stems: counted good where it was counted in, else as its supplier's latest answer has them. Whom they serve is
//! the stem order's own plan of the need now; where that has no answer, or no use for the day, those they were ordered for.

use super::{ordered, served, serves};
use crate::ground::formats::Formats;
use crate::ground::ids::{EventId, MaterialId};
use crate::prep::plan::{Delivery, OpenOrder, OrderedPlan, Pack, Serves, Unmet};
use crate::stem_order::change::arriving::{Arriving, UseFrom};
use crate::stem_order::change::coming::Coming;
use crate::stem_order::order::{OrderDelivery, OrderLine};
use crate::stem_order::weekend::Weekend;

/// What comes for the events of a weekend of placed orders, and of the top-up, which is named as not ordered yet. The orders'
/// own events may be more than the weekend's: what serves only others is left out.
#[must_use]
pub fn placed(arriving: &Arriving, weekend: &Weekend, formats: &Formats) -> OrderedPlan {
    let told = Told { arriving, weekend, formats };
    let mut plan = told.top_up();
    let lines = arriving.lines.iter().filter_map(|line| told.delivery(line));
    plan.deliveries = lines.chain(plan.deliveries).collect();
    plan
}

struct Told<'a> {
    arriving: &'a Arriving,
    weekend: &'a Weekend,
    formats: &'a Formats,
}

impl Told<'_> {
    /// What is planned beside the placed orders.
    fn top_up(&self) -> OrderedPlan {
        let order = &self.arriving.order;
        let aside = |sentence: &String| OpenOrder { day: None, sentence: sentence.clone() };
        let mut open: Vec<OpenOrder> = self.arriving.asides.iter().map(aside).collect();
        if self.arriving.undecided() {
            let sentence = "Beside what was ordered, the stem order has no answer yet.".into();
            open.push(OpenOrder { day: None, sentence });
            return OrderedPlan { open, ..OrderedPlan::default() };
        }
        let plan = ordered(self.arriving);
        for delivery in &order.deliveries {
            open.extend(delivery.lines.iter().filter_map(|line| self.not_ordered(delivery, line)));
        }
        let deliveries = plan.deliveries.into_iter().filter_map(|delivery| {
            let serves = self.own(delivery.serves);
            let note = "Not ordered yet".into();
            (!serves.is_empty()).then_some(Delivery { serves, note, open: true, ..delivery })
        });
        let unmet = plan.unmet.into_iter().filter_map(|unmet| {
            let sentence = format!("{}{}", unmet.sentence, self.short_of(unmet.material));
            Some(Unmet { event: self.place(unmet.event)?, sentence, ..unmet })
        });
        let mut from_stock = plan.from_stock;
        from_stock.retain_mut(|taken| {
            taken.serves = self.own(std::mem::take(&mut taken.serves));
            !taken.serves.is_empty()
        });
        OrderedPlan { deliveries: deliveries.collect(), unmet: unmet.collect(), from_stock, open }
    }

    /// `20 Rose are not ordered yet: 2 × bunch from Fenn Hall for Thu 14 May, order by Tue 12 May 11:00.`
    fn not_ordered(&self, delivery: &OrderDelivery, line: &OrderLine) -> Option<OpenOrder> {
        let fresh = self.weekend.material(line.material).is_none_or(crate::price_list::Material::is_fresh);
        let ours = line.by_event.iter().any(|share| share.stems > 0 && self.place(share.event).is_some());
        if !fresh || !ours {
            return None;
        }
        let sentence = format!(
            "{} {} are not ordered yet: {} × {} from {} for {}, order by {} {}.{}",
            line.stems,
            line.name,
            line.packs,
            line.pack_name,
            delivery.name,
            self.formats.weekday(delivery.day),
            self.formats.weekday(delivery.order_by_day),
            delivery.order_by_time,
            self.short_of(line.material)
        );
        Some(OpenOrder { day: Some(delivery.day), sentence })
    }

    /// What came short of a material, in words; empty where nothing did.
    fn short_of(&self, material: MaterialId) -> String {
        let short = self.arriving.lines.iter().filter(|line| line.material == material);
        let words: Vec<String> = short.filter_map(came).collect();
        if words.is_empty() { String::new() } else { format!(" Ordered before: {}.", words.join("; ")) }
    }

    /// What comes of a placed line for these events; none where nothing does.
    fn delivery(&self, line: &Coming) -> Option<Delivery> {
        let serves = self.serves(line);
        let meant = line.promised.iter().any(|(event, stems)| *stems > 0 && self.asked(*event));
        let for_others = !self.arriving.served_by(line.material, UseFrom::Placed(line.day)).is_empty();
        let ours = !serves.is_empty() || (meant && !for_others);
        if line.stems <= 0 || !ours {
            return None;
        }
        let pack = Pack { name: line.pack_name.clone(), size: line.pack_size };
        let size = line.pack_size.max(1);
        Some(Delivery {
            material: line.material,
            day: line.day,
            stems: line.stems,
            over: self.over(line),
            packs: Some((line.stems.saturating_add(size - 1) / size, pack)),
            supplier: Some(line.supplier_name.clone()),
            supplier_id: Some(line.supplier),
            open: false,
            serves,
            note: came(line).unwrap_or_else(|| number(line)),
        })
    }

    /// Of the stems of a material and day those that serve nobody, on the first of its lines.
    fn over(&self, line: &Coming) -> i64 {
        let same =
            |other: &&Coming| other.material == line.material && other.day == line.day && other.stems > 0;
        let mut lines = self.arriving.lines.iter().filter(same);
        let knows = self.arriving.ready.contains(&(line.material, line.day)) && !self.arriving.undecided();
        if !knows || lines.next().is_none_or(|first| first.line != line.line) {
            return 0;
        }
        let come: i64 = self.arriving.lines.iter().filter(same).map(|line| line.stems).sum();
        let uses = self.arriving.uses.iter();
        let serving =
            uses.filter(|one| one.material == line.material && one.from == UseFrom::Placed(line.day));
        (come - serving.map(|one| one.stems).sum::<i64>()).clamp(0, line.stems)
    }

    fn serves(&self, line: &Coming) -> Vec<Serves> {
        let now = serves(self.arriving, line.material, UseFrom::Placed(line.day));
        if !now.is_empty() {
            return self.own(now);
        }
        if self.arriving.ready.contains(&(line.material, line.day)) && !self.arriving.undecided() {
            return Vec::new();
        }
        let meant = line.own.iter().filter(|(_, stems)| *stems > 0);
        let places = meant.filter_map(|(event, _)| self.position(*event));
        places.flat_map(|at| served(self.weekend, at, line.material, line.day)).collect()
    }

    /// Those that are of the weekend, by their place in it.
    fn own(&self, serves: Vec<Serves>) -> Vec<Serves> {
        let here = |one: Serves| Some(Serves { event: self.place(one.event)?, ..one });
        serves.into_iter().filter_map(here).collect()
    }

    /// The place in the weekend of an event of the orders.
    fn place(&self, event: usize) -> Option<usize> {
        self.position(self.arriving.weekend.events.get(event)?.event.id)
    }

    fn position(&self, event: EventId) -> Option<usize> {
        self.weekend.events.iter().position(|known| known.event.id == event)
    }

    fn asked(&self, event: EventId) -> bool {
        self.position(event).is_some()
    }
}

fn number(line: &Coming) -> String {
    format!("Ordered, N°\u{a0}{}", line.number)
}

/// `N° 12: 96 of 116 came good`, where fewer than were meant for events come or came; none where it is as ordered.
fn came(line: &Coming) -> Option<String> {
    let meant: i64 = line.promised.iter().map(|(_, stems)| stems).sum();
    let have: i64 = line.own.iter().map(|(_, stems)| stems).sum();
    let how = if line.counted { "came good" } else { "come" };
    (have < meant).then(|| format!("N°\u{a0}{}: {have} of {meant} {how}", line.number))
}
