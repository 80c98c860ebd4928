use proptest::prelude::*;

use super::super::super::entries::{NewMaterial, NewOffer, NewSupplier, PriceEntry};
use super::super::super::file::table::{decode, read};
use super::super::super::file::{KnownList, KnownOffer, key};
use super::super::super::{Care, CareSource, MaterialKind, Unit};
use super::*;
use crate::ground::caution::Cautions;
use crate::ground::choice::Choice;
use crate::ground::dates::{Day, Season, TimeOfDay, Weekdays};
use crate::ground::ids::{MaterialId, OfferId, OfferPriceId, SupplierId};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Share};
use crate::studio::Studio;

fn today() -> Day {
    "2026-05-04".parse().unwrap()
}

fn supplier(name: &str) -> NewSupplier {
    NewSupplier {
        name: name.into(),
        contact: String::new(),
        email: String::new(),
        phone: String::new(),
        account: String::new(),
        delivery_weekdays: Weekdays(0b1001),
        cutoff_days: 1,
        cutoff_time: "11:00".parse().unwrap(),
        delivery_fee: Money::ZERO,
        fee_waived_over: None,
        least_order: Money::ZERO,
        note: String::new(),
    }
}

fn price(id: i64, from: &str, minor: i64) -> PriceEntry {
    PriceEntry {
        id: OfferPriceId(id),
        offer_id: OfferId(1),
        from_day: from.parse().unwrap(),
        until_day: None,
        price: Money::from_minor(minor),
        recorded_at: "2026-01-01T08:00:00Z".parse().unwrap(),
    }
}

fn list(
    suppliers: Vec<NewSupplier>,
    materials: Vec<NewMaterial>,
    offers: Vec<(NewOffer, Vec<PriceEntry>)>,
) -> KnownList {
    let mut known = KnownList::default();
    for (id, supplier) in (1..).zip(suppliers) {
        known.suppliers.insert(key(&supplier.name), (SupplierId(id), supplier));
    }
    for (id, material) in (1..).zip(materials) {
        known.materials.insert(key(&material.name), (MaterialId(id), material));
    }
    for (id, (offer, prices)) in (1..).zip(offers) {
        known.offers.insert(KnownList::offer_key(&offer), KnownOffer { id: OfferId(id), offer, prices });
    }
    known
}

/// Marsh Lane sells roses by 25 at 31.00 since January.
fn stocked() -> KnownList {
    let rose = NewMaterial {
        colour: "ivory".into(),
        ..NewMaterial::named("Rose", MaterialKind::Flower, Unit::Stem)
    };
    let offer = NewOffer {
        supplier_id: SupplierId(1),
        material_id: MaterialId(1),
        pack_name: "Bunch".into(),
        pack_size: 25,
        least_packs: 1,
        most_packs: None,
        season: Season::ALL_YEAR,
    };
    list(vec![supplier("Marsh Lane")], vec![rose], vec![(offer, vec![price(1, "2026-01-01", 3_100)])])
}

fn planned(known: &KnownList, text: &str) -> Plan {
    plan(&read(text).unwrap(), known, &Studio::new_book().formats, today())
}

fn standings(plan: &Plan) -> Vec<LineStanding> {
    plan.lines.iter().map(LineReport::standing).collect()
}

use LineStanding::{Changed, New, Refused, Same};

#[test]
fn a_suppliers_own_list_needs_few_columns() {
    let plan = planned(
        &stocked(),
        "Material;Supplier;In a pack;Price\nROSE;marsh lane;25;31,00\nRose;Marsh Lane;;33,50\n",
    );
    assert_eq!(standings(&plan), [Same, Refused], "{:?}", plan.lines);
    assert!(plan.lines[1].reasons[0].contains("Line 2 gives one from the same day"));
    let plan = planned(&stocked(), "price,material,supplier\n33.5,Rose,Marsh Lane\n");
    assert_eq!(standings(&plan), [Changed]);
    let (id, new) = &plan.writes.prices[0];
    assert_eq!((*id, new.from_day, new.price), (OfferId(1), today(), Money::from_minor(3_350)));
}

#[test]
fn new_things_are_added_with_what_they_need() {
    let text = "material,kind,supplier,pack,in a pack,price,bought from\nIvy,Foliage,Hill Farm,Bunch,10,9,Hill Farm\nBowl,vessel,,,,,\n";
    let plan = planned(&stocked(), text);
    assert_eq!(standings(&plan), [New, New], "{:?}", plan.lines);
    assert_eq!(plan.lines[0].news, ["New supplier", "New material, foliage", "New offer, Bunch of 10"]);
    let writes = &plan.writes;
    assert_eq!(writes.new_materials[0].1.unit, Unit::Stem);
    assert_eq!(writes.new_materials[1].1.unit, Unit::Each);
    assert_eq!(writes.new_materials[0].1.preferred_supplier_id, Some(writes.new_suppliers[0].0));
    assert_eq!(writes.new_offers[0].1.material_id, writes.new_materials[0].0);
    assert_eq!(writes.prices[0].0, writes.new_offers[0].0);
}

#[test]
fn each_refusal_says_why() {
    for (line, reason) in [
        ("Fern,,,,,,,", "needs it: flower"),
        ("Fern,animal,,,,,,", "kind: “animal” is not one of the choices"),
        (",,,,,9,,", "neither a material nor a supplier"),
        ("Rose,,,Bunch,25,9,,", "but no supplier"),
        (",,Marsh Lane,Bunch,25,9,,", "but no material"),
        ("Rose,,Marsh Lane,,,,,", "no pack and no price"),
        ("Rose,,Marsh Lane,Bunch,0,9,,", "in a pack: A pack must hold at least one."),
        ("Rose,,Marsh Lane,Box,,9,,", "in a pack: Write a whole number"),
        ("Rose,,Marsh Lane,Bunch,\"2,5\",9,,", "in a pack: Write a whole number"),
        ("Rose,,Marsh Lane,Box,100,,,", "price: A new offer needs one."),
        ("Rose,,Marsh Lane,Bunch,25,9.125,,", "price: EUR has 2 decimals"),
        ("Rose,,Marsh Lane,Bunch,25,9,spring,", "months: “spring” names no months"),
        ("Rose,,Marsh Lane,Bunch,25,9,,3 May", "from: Write a day"),
        ("Rose,flower,Marsh Lane,Bunch,25,9,,,extra", "more cells than the file has headings"),
    ] {
        let text = format!("material,kind,supplier,pack,in a pack,price,months,from\n{line}\n");
        let plan = planned(&stocked(), &text);
        let reasons = plan.lines[0].reasons.join(" ");
        assert!(reasons.contains(reason), "{line}: {reasons}");
        assert_eq!(standings(&plan), [Refused]);
    }
}

#[test]
fn two_lines_must_not_say_two_things() {
    let plan = planned(&stocked(), "material,colour\nRose,white\nRose,\nRose,cream\n");
    assert_eq!(standings(&plan), [Changed, Same, Refused]);
    assert_eq!(plan.lines[2].reasons, ["colour: “cream” here, but “white” in line 2."]);
}

#[test]
fn an_empty_cell_leaves_and_none_empties() {
    let plan = planned(&stocked(), "material,colour\nRose,\n");
    assert!(plan.writes.is_empty());
    let plan = planned(&stocked(), "material,colour\nRose,None\n");
    assert_eq!(plan.writes.changed_materials[0].1.colour, "");
    assert_eq!(
        (plan.lines[0].changes[0].before.as_str(), plan.lines[0].changes[0].after.as_str()),
        ("ivory", "")
    );
    let plan = planned(&stocked(), "material,colour\nRose,'none\n");
    assert_eq!(plan.writes.changed_materials[0].1.colour, "none");
}

#[test]
fn spreadsheets_may_rewrite_days_and_times() {
    let plan = planned(
        &stocked(),
        "material,supplier,price,from,cut-off time\nRose,Marsh Lane,31,01/01/2026,11:00:00\n",
    );
    assert_eq!(standings(&plan), [Same], "{:?}", plan.lines);
    let plan =
        planned(&stocked(), "material,supplier,price,from,until\nRose,Marsh Lane,31,2026-01-01,1.6.2026\n");
    assert_eq!(standings(&plan), [Changed]);
    assert_eq!(plan.writes.prices[0].1.until_day, Some("2026-06-01".parse().unwrap()));
}

#[test]
fn the_fingerprint_tells_plans_apart() {
    let text = "material,supplier,price\nRose,Marsh Lane,33\n";
    let one = planned(&stocked(), text).fingerprint();
    assert_eq!(planned(&stocked(), text).fingerprint(), one);
    assert_ne!(planned(&stocked(), "material,supplier,price\nRose,Marsh Lane,34\n").fingerprint(), one);
    let mut other = stocked();
    other.offers.clear();
    assert_ne!(planned(&other, text).fingerprint(), one);
}

/// Texts that are hard on a file: separators, quotation marks, formulas, several lines, foreign letters.
fn words() -> impl Strategy<Value = String> {
    prop::collection::vec("[a-zA-Z0-9äÉß=+@'\",;\\-]{1,6}|none", 0..4).prop_map(|words| words.join(" "))
}

fn notes() -> impl Strategy<Value = String> {
    prop::collection::vec(words(), 1..3).prop_map(|lines| lines.join("\n").trim().to_owned())
}

fn any_supplier(place: usize) -> impl Strategy<Value = NewSupplier> {
    (words(), 0_i64..128, 0_i64..=60, 0_i64..1_000_000, prop::option::of(0_i64..1_000_000), notes()).prop_map(
        move |(name, days, cutoff, fee, over, note)| NewSupplier {
            name: format!("{name} supplier {place}").trim().to_owned(),
            contact: name,
            delivery_weekdays: Weekdays(days),
            cutoff_days: cutoff,
            cutoff_time: TimeOfDay(jiff::civil::time(23, 59, 0, 0)),
            delivery_fee: Money::from_minor(fee),
            fee_waived_over: over.map(Money::from_minor),
            note,
            ..supplier("")
        },
    )
}

fn any_material(place: usize) -> impl Strategy<Value = NewMaterial> {
    let lengths = prop::option::of(1_i64..20_000_000);
    let care = (0_i64..=600, prop::option::of(-10_i64..=40), prop::option::of(0_i64..=400), 0..3_usize);
    (
        (words(), notes(), 0..7_usize),
        (lengths, prop::option::of(0_i64..=900_000), 0_i64..2048),
        care,
        prop::option::of(1_i64..=2),
    )
        .prop_map(
            move |(
                (name, note, kind),
                (length, loss, cautions),
                (minutes, celsius, days, source),
                preferred,
            )| {
                let kind = MaterialKind::ALL[kind];
                let loaned = kind == MaterialKind::Vessel;
                NewMaterial {
                    colour: name.clone(),
                    usable_length: length.map(Length::from_um),
                    loss: loss.map(Share::from_raw),
                    preferred_supplier_id: preferred.map(SupplierId),
                    loaned,
                    owned: minutes,
                    loan_fee: Money::from_minor(if loaned { minutes } else { 0 }),
                    care: Care {
                        conditioning_minutes: minutes,
                        storage_celsius: celsius,
                        holding_days: days,
                        source: CareSource::ALL[source],
                        ..Care::UNKNOWN
                    },
                    cautions: Cautions(cautions),
                    note,
                    ..NewMaterial::named(format!("{name} material {place}").trim(), kind, Unit::Each)
                }
            },
        )
}

fn any_offer(place: i64) -> impl Strategy<Value = (NewOffer, Vec<PriceEntry>)> {
    let prices = prop::collection::vec((-60_i64..60, prop::option::of(0_i64..40), 0_i64..1_000_000), 0..4);
    (words(), 1_i64..=2, 1_i64..=3, 1_i64..4096, prop::option::of(5_i64..9), prices).prop_map(
        move |(pack, supplier, material, season, most, prices)| {
            let entry = |(id, (from, length, minor)): (i64, (i64, Option<i64>, i64))| PriceEntry {
                from_day: today().plus(from),
                until_day: length.map(|length| today().plus(from + length)),
                ..price(id, "2026-01-01", minor)
            };
            let offer = NewOffer {
                supplier_id: SupplierId(supplier),
                material_id: MaterialId(material),
                pack_name: format!("{pack} pack").trim().to_owned(),
                pack_size: place,
                least_packs: 2,
                most_packs: most,
                season: Season(season),
            };
            (offer, (1..).zip(prices).map(entry).collect())
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn an_exported_list_comes_back_as_no_change(
        suppliers in (any_supplier(1), any_supplier(2)),
        materials in (any_material(1), any_material(2), any_material(3)),
        offers in (any_offer(1), any_offer(2), any_offer(30)),
    ) {
        let known = list(
            vec![suppliers.0, suppliers.1],
            vec![materials.0, materials.1, materials.2],
            vec![offers.0, offers.1, offers.2],
        );
        let text = export(&known, &Studio::new_book().formats, today());
        let plan = planned(&known, &decode(text.as_bytes()).unwrap());
        for line in &plan.lines {
            prop_assert_eq!(line.standing(), Same, "{:?}\n{}", line, text);
        }
        prop_assert!(plan.writes.is_empty());
    }
}
