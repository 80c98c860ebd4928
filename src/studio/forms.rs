//! The settings form.

use iso_currency::Currency;
use jiff::tz::TimeZone;
use serde::Deserialize;

use super::{Labour, Markups, PriceRounding, Studio, TaxRate};
use crate::ground::choice::Choice;
use crate::ground::formats::Formats;
use crate::ground::ids::TaxRateId;
use crate::ground::money::Money;
use crate::ground::quantity::Share;
use crate::web::forms::{Checker, Difference, FieldErrors, differences};

/// What was typed.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(default)]
pub struct SettingsForm {
    pub version: String,
    pub name: String,
    pub address: String,
    pub email: String,
    pub phone: String,
    pub tax_number: String,
    pub terms: String,
    pub greeting: String,
    pub accept_words: String,
    pub closing: String,
    pub currency: String,
    pub length_unit: String,
    pub date_style: String,
    pub paper: String,
    pub time_zone: String,
    pub fresh_markup: String,
    pub hard_goods_markup: String,
    pub sundries_markup: String,
    pub labour_rule: String,
    pub labour_rate: String,
    pub labour_share: String,
    pub rounding_step: String,
    pub rounding_direction: String,
    pub allowance_rule: String,
    pub loss: String,
    pub assurance: String,
    pub prices_include_tax: String,
    pub stems_on_paper: String,
    pub plan_seconds: String,
    /// One of each a row.
    pub tax_id: Vec<String>,
    pub tax_name: Vec<String>,
    pub tax_rate: Vec<String>,
}

/// Settings that may be kept.
#[derive(Debug)]
pub struct NewSettings {
    /// The studio as it shall be.
    pub studio: Studio,
    /// Its tax rates: known ones with their identity.
    pub tax_rates: Vec<(Option<TaxRateId>, String, Share)>,
}

impl SettingsForm {
    /// The form filled in from what the book holds.
    #[must_use]
    pub fn of(studio: &Studio, rates: &[TaxRate]) -> SettingsForm {
        let f = &studio.formats;
        SettingsForm {
            version: studio.version.to_string(),
            name: studio.name.clone(),
            address: studio.address.clone(),
            email: studio.email.clone(),
            phone: studio.phone.clone(),
            tax_number: studio.tax_number.clone(),
            terms: studio.terms.clone(),
            greeting: studio.greeting.clone(),
            accept_words: studio.accept_words.clone(),
            closing: studio.closing.clone(),
            currency: f.currency.code().into(),
            length_unit: f.length_unit.code().into(),
            date_style: f.date_style.code().into(),
            paper: studio.paper.code().into(),
            time_zone: studio.zone_name().into(),
            fresh_markup: f.factor_input(studio.markups.fresh),
            hard_goods_markup: f.factor_input(studio.markups.hard_goods),
            sundries_markup: f.factor_input(studio.markups.sundries),
            labour_rule: studio.labour.rule.code().into(),
            labour_rate: f.money_input(studio.labour.rate),
            labour_share: f.share_input(studio.labour.share),
            rounding_step: f.money_input(studio.rounding.step),
            rounding_direction: studio.rounding.direction.code().into(),
            allowance_rule: studio.allowance_rule.code().into(),
            loss: f.share_input(studio.loss),
            assurance: f.share_input(studio.assurance),
            prices_include_tax: yes_no(studio.prices_include_tax),
            stems_on_paper: yes_no(studio.stems_on_paper),
            plan_seconds: studio.plan_seconds.to_string(),
            tax_id: rates.iter().map(|rate| rate.id.to_string()).collect(),
            tax_name: rates.iter().map(|rate| rate.name.clone()).collect(),
            tax_rate: rates.iter().map(|rate| f.share_input(rate.rate)).collect(),
        }
    }

    /// Reads the form: settings, or every message.
    pub fn parse(&self) -> Result<NewSettings, FieldErrors> {
        let formats = self.formats();
        let mut c = Checker::new(&formats);
        if Currency::from_code(&self.currency).is_none() {
            c.refuse("currency", "Choose a currency of ISO 4217, such as EUR, GBP, USD, JPY.");
        }
        let zone = TimeZone::get(self.time_zone.trim()).unwrap_or_else(|_| {
            c.refuse("time_zone", "Write a time zone such as Europe/Paris or America/New_York.");
            TimeZone::UTC
        });
        let tax_rates = self.parse_tax_rates(&mut c);
        let studio = Studio {
            version: 0,
            name: c.name("name", &self.name, "the studio's name"),
            address: c.text("address", &self.address),
            email: c.line("email", &self.email),
            phone: c.line("phone", &self.phone),
            tax_number: c.line("tax_number", &self.tax_number),
            terms: c.text("terms", &self.terms),
            greeting: c.text("greeting", &self.greeting),
            accept_words: c.text("accept_words", &self.accept_words),
            closing: c.text("closing", &self.closing),
            logo: None,
            formats,
            paper: c.pick("paper", &self.paper),
            zone,
            markups: self.parse_markups(&mut c),
            labour: self.parse_labour(&mut c),
            rounding: self.parse_rounding(&mut c),
            allowance_rule: c.pick("allowance_rule", &self.allowance_rule),
            loss: self.parse_share_between(&mut c, "loss", &self.loss, 0, 900_000),
            assurance: self.parse_share_between(&mut c, "assurance", &self.assurance, 500_000, 999_900),
            prices_include_tax: self.prices_include_tax == "yes",
            stems_on_paper: self.stems_on_paper == "yes",
            plan_seconds: c.whole("plan_seconds", &self.plan_seconds, 1..=120),
        };
        c.done(NewSettings { studio, tax_rates })
    }

    fn formats(&self) -> Formats {
        let standard = Studio::new_book().formats;
        Formats {
            currency: Currency::from_code(&self.currency).unwrap_or(standard.currency),
            length_unit: Choice::from_code(&self.length_unit).unwrap_or(standard.length_unit),
            date_style: Choice::from_code(&self.date_style).unwrap_or(standard.date_style),
        }
    }

    fn parse_markups(&self, c: &mut Checker) -> Markups {
        Markups {
            fresh: c.factor("fresh_markup", &self.fresh_markup),
            hard_goods: c.factor("hard_goods_markup", &self.hard_goods_markup),
            sundries: c.factor("sundries_markup", &self.sundries_markup),
        }
    }

    fn parse_labour(&self, c: &mut Checker) -> Labour {
        Labour {
            rule: c.pick("labour_rule", &self.labour_rule),
            rate: c.money("labour_rate", &self.labour_rate),
            share: c.share("labour_share", &self.labour_share),
        }
    }

    fn parse_rounding(&self, c: &mut Checker) -> PriceRounding {
        let step = c.money("rounding_step", &self.rounding_step);
        if step == Money::ZERO {
            c.refuse("rounding_step", "The step must be at least one minor unit.");
        }
        PriceRounding { step, direction: c.pick("rounding_direction", &self.rounding_direction) }
    }

    fn parse_share_between(&self, c: &mut Checker, field: &str, raw: &str, least: i64, most: i64) -> Share {
        let share = c.share(field, raw);
        if !(least..=most).contains(&share.raw()) {
            let percent = |ppm: i64| rust_decimal::Decimal::new(ppm, 4).normalize();
            c.refuse(field, format!("Write a percentage from {} to {}.", percent(least), percent(most)));
        }
        share
    }

    fn parse_tax_rates(&self, c: &mut Checker) -> Vec<(Option<TaxRateId>, String, Share)> {
        let mut rates = Vec::new();
        for (row, (name, rate)) in self.tax_name.iter().zip(&self.tax_rate).enumerate() {
            if name.trim().is_empty() && rate.trim().is_empty() {
                continue;
            }
            let id = self.tax_id.get(row).and_then(|id| id.parse().ok());
            let name = c.name(&format!("tax_name-{row}"), name, "a name, such as Standard");
            let rate = c.share(&format!("tax_rate-{row}"), rate);
            rates.push((id, name, rate));
        }
        if rates.is_empty() {
            c.refuse("tax_name-0", "Keep at least one tax rate; it may be 0 %.");
        }
        rates
    }

    /// Where this form and a newer one differ.
    #[must_use]
    pub fn differences(&self, theirs: &SettingsForm) -> Vec<Difference> {
        differences(&[
            ("Name", &self.name, &theirs.name),
            ("Address", &self.address, &theirs.address),
            ("Email", &self.email, &theirs.email),
            ("Phone", &self.phone, &theirs.phone),
            ("Tax number", &self.tax_number, &theirs.tax_number),
            ("Terms", &self.terms, &theirs.terms),
            ("Greeting", &self.greeting, &theirs.greeting),
            ("How to accept", &self.accept_words, &theirs.accept_words),
            ("Closing words", &self.closing, &theirs.closing),
            ("Stems on papers", &self.stems_on_paper, &theirs.stems_on_paper),
            ("Currency", &self.currency, &theirs.currency),
            ("Measures in", &self.length_unit, &theirs.length_unit),
            ("Dates", &self.date_style, &theirs.date_style),
            ("Paper", &self.paper, &theirs.paper),
            ("Time zone", &self.time_zone, &theirs.time_zone),
            ("Mark-up of flowers", &self.fresh_markup, &theirs.fresh_markup),
            ("Mark-up of hard goods", &self.hard_goods_markup, &theirs.hard_goods_markup),
            ("Mark-up of sundries", &self.sundries_markup, &theirs.sundries_markup),
            ("Labour rule", &self.labour_rule, &theirs.labour_rule),
            ("Labour rate", &self.labour_rate, &theirs.labour_rate),
            ("Labour share", &self.labour_share, &theirs.labour_share),
            ("Rounding step", &self.rounding_step, &theirs.rounding_step),
            ("Rounding", &self.rounding_direction, &theirs.rounding_direction),
            ("Spares", &self.allowance_rule, &theirs.allowance_rule),
            ("Loss", &self.loss, &theirs.loss),
            ("Assurance", &self.assurance, &theirs.assurance),
            ("Time limit of a plan", &self.plan_seconds, &theirs.plan_seconds),
            ("Tax rates", &self.tax_rate.join(", "), &theirs.tax_rate.join(", ")),
        ])
    }
}

fn yes_no(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}
