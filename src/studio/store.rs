//! All SQL for the studio's settings and tax rates.

use iso_currency::Currency;
use jiff::tz::TimeZone;
use sqlx::SqliteConnection;

use super::{
    AllowanceRule, Labour, LabourRule, Markups, Paper, PriceRounding, RoundingDirection, Studio, TaxRate,
};
use crate::ground::choice::Choice;
use crate::ground::dates::Moment;
use crate::ground::formats::{DateStyle, Formats};
use crate::ground::ids::{LogoId, TaxRateId};
use crate::ground::money::Money;
use crate::ground::quantity::{Factor, LengthUnit, Share};

/// The settings; a book that has none yet begins with [`Studio::new_book`].
pub async fn studio(connection: &mut SqliteConnection) -> Result<Studio, sqlx::Error> {
    let row = sqlx::query!(
        r#"SELECT version, name, address, email, phone, tax_number, terms, greeting, accept_words, closing,
            logo_id AS "logo: LogoId", currency, length_unit, date_style,
            paper AS "paper: Paper", time_zone, fresh_markup AS "fresh_markup: Factor",
            hard_goods_markup AS "hard_goods_markup: Factor", sundries_markup AS "sundries_markup: Factor",
            labour_rule AS "labour_rule: LabourRule", labour_rate AS "labour_rate: Money",
            labour_share AS "labour_share: Share", rounding_step AS "rounding_step: Money",
            rounding_direction AS "rounding_direction: RoundingDirection",
            allowance_rule AS "allowance_rule: AllowanceRule", loss AS "loss: Share",
            assurance AS "assurance: Share", prices_include_tax AS "prices_include_tax: bool",
            stems_on_paper AS "stems_on_paper: bool", plan_seconds
        FROM studio WHERE id = 1"#
    )
    .fetch_optional(connection)
    .await?;
    let Some(row) = row else { return Ok(Studio::new_book()) };
    Ok(Studio {
        version: row.version,
        name: row.name,
        address: row.address,
        email: row.email,
        phone: row.phone,
        tax_number: row.tax_number,
        terms: row.terms,
        greeting: row.greeting,
        accept_words: row.accept_words,
        closing: row.closing,
        logo: row.logo,
        formats: Formats {
            currency: Currency::from_code(&row.currency).unwrap_or(Currency::XXX),
            length_unit: LengthUnit::from_code(&row.length_unit).unwrap_or(LengthUnit::Centimetre),
            date_style: DateStyle::from_code(&row.date_style).unwrap_or(DateStyle::Iso),
        },
        paper: row.paper,
        zone: TimeZone::get(&row.time_zone).unwrap_or(TimeZone::UTC),
        markups: Markups {
            fresh: row.fresh_markup,
            hard_goods: row.hard_goods_markup,
            sundries: row.sundries_markup,
        },
        labour: Labour { rule: row.labour_rule, rate: row.labour_rate, share: row.labour_share },
        rounding: PriceRounding { step: row.rounding_step, direction: row.rounding_direction },
        allowance_rule: row.allowance_rule,
        loss: row.loss,
        assurance: row.assurance,
        prices_include_tax: row.prices_include_tax,
        stems_on_paper: row.stems_on_paper,
        plan_seconds: row.plan_seconds,
    })
}

/// Keeps the settings and counts the save.
pub async fn keep(connection: &mut SqliteConnection, studio: &Studio) -> Result<(), sqlx::Error> {
    let currency = studio.formats.currency.code();
    let (length_unit, date_style) = (studio.formats.length_unit.code(), studio.formats.date_style.code());
    let zone = studio.zone_name();
    let (markups, labour, rounding) = (studio.markups, studio.labour, studio.rounding);
    sqlx::query!(
        "INSERT INTO studio (id, version, name, address, email, phone, tax_number, terms, currency, length_unit,
            date_style, paper, time_zone, fresh_markup, hard_goods_markup, sundries_markup, labour_rule, labour_rate,
            labour_share, rounding_step, rounding_direction, allowance_rule, loss, assurance, prices_include_tax,
            plan_seconds, greeting, accept_words, closing, stems_on_paper)
        VALUES (1, 1, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
        ON CONFLICT (id) DO UPDATE SET version = version + 1, name = excluded.name, address = excluded.address,
            email = excluded.email, phone = excluded.phone, tax_number = excluded.tax_number, terms = excluded.terms,
            currency = excluded.currency, length_unit = excluded.length_unit, date_style = excluded.date_style,
            paper = excluded.paper, time_zone = excluded.time_zone, fresh_markup = excluded.fresh_markup,
            hard_goods_markup = excluded.hard_goods_markup, sundries_markup = excluded.sundries_markup,
            labour_rule = excluded.labour_rule, labour_rate = excluded.labour_rate,
            labour_share = excluded.labour_share, rounding_step = excluded.rounding_step,
            rounding_direction = excluded.rounding_direction, allowance_rule = excluded.allowance_rule,
            loss = excluded.loss, assurance = excluded.assurance, prices_include_tax = excluded.prices_include_tax,
            plan_seconds = excluded.plan_seconds, greeting = excluded.greeting,
            accept_words = excluded.accept_words, closing = excluded.closing,
            stems_on_paper = excluded.stems_on_paper",
        studio.name,
        studio.address,
        studio.email,
        studio.phone,
        studio.tax_number,
        studio.terms,
        currency,
        length_unit,
        date_style,
        studio.paper,
        zone,
        markups.fresh,
        markups.hard_goods,
        markups.sundries,
        labour.rule,
        labour.rate,
        labour.share,
        rounding.step,
        rounding.direction,
        studio.allowance_rule,
        studio.loss,
        studio.assurance,
        studio.prices_include_tax,
        studio.plan_seconds,
        studio.greeting,
        studio.accept_words,
        studio.closing,
        studio.stems_on_paper,
    )
    .execute(connection)
    .await
    .map(drop)
}

/// Puts another sign on papers to come, or none.
pub async fn set_logo(connection: &mut SqliteConnection, logo: Option<LogoId>) -> Result<(), sqlx::Error> {
    let kept = sqlx::query!("UPDATE studio SET logo_id = ? WHERE id = 1", logo);
    if kept.execute(&mut *connection).await?.rows_affected() == 0 {
        keep(connection, &Studio::new_book()).await?;
        sqlx::query!("UPDATE studio SET logo_id = ? WHERE id = 1", logo).execute(connection).await?;
    }
    Ok(())
}

/// The tax rates that quotes may use, in the studio's order.
pub async fn tax_rates(connection: &mut SqliteConnection) -> Result<Vec<TaxRate>, sqlx::Error> {
    sqlx::query_as!(
        TaxRate,
        r#"SELECT id AS "id: TaxRateId", name, rate AS "rate: Share" FROM tax_rate
        WHERE removed_at IS NULL ORDER BY position, id"#
    )
    .fetch_all(connection)
    .await
}

/// Keeps the list of tax rates: known ones are changed, new ones added, those left out are retired
/// (quotes that use them keep them).
pub async fn keep_tax_rates(
    connection: &mut SqliteConnection,
    rates: &[(Option<TaxRateId>, String, Share)],
    now: Moment,
) -> Result<(), sqlx::Error> {
    sqlx::query!("UPDATE tax_rate SET removed_at = ? WHERE removed_at IS NULL", now)
        .execute(&mut *connection)
        .await?;
    for (position, (id, name, rate)) in (0_i64..).zip(rates) {
        sqlx::query!(
            "INSERT INTO tax_rate (id, name, rate, position) VALUES (?, ?, ?, ?)
            ON CONFLICT (id) DO UPDATE SET name = excluded.name, rate = excluded.rate,
                position = excluded.position, removed_at = NULL",
            id,
            name,
            rate,
            position
        )
        .execute(&mut *connection)
        .await?;
    }
    Ok(())
}
