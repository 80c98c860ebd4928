use proptest::prelude::*;

use super::*;
use crate::ground::caution::Cautions;
use crate::ground::dates::Day;
use crate::ground::ids::{OfferId, RecipeLineId, SupplierId};
use crate::ground::quantity::{Factor, Quantity};
use crate::price_list::{Care, CareSource, MaterialKind, Unit};
use crate::recipes::{Category, Recipe, RecipeLine};

const INCH: i64 = 25_400;
pub(crate) const ROSE: MaterialId = MaterialId(1);
const RUSCUS: MaterialId = MaterialId(2);
pub(crate) const BOWL: MaterialId = MaterialId(3);
const RIBBON: MaterialId = MaterialId(4);
const STAND: MaterialId = MaterialId(5);
pub(crate) const CENTRE: RecipeId = RecipeId(1);
const CLUSTER: RecipeId = RecipeId(2);

fn material(id: MaterialId, name: &str, kind: MaterialKind) -> Material {
    Material {
        id,
        version: 1,
        name: name.into(),
        kind,
        colour: String::new(),
        grade: String::new(),
        unit: Unit::Stem,
        head_class: None,
        usable_length: None,
        loss: None,
        preferred_supplier_id: None,
        inner_height: None,
        inner_diameter: None,
        loaned: false,
        owned: 0,
        loan_fee: Money::ZERO,
        spare_per: 0,
        care: Care {
            conditioning_minutes: 0,
            hydrate_hours: 0,
            opening_days: 0,
            holding_days: None,
            storage_celsius: None,
            vase_days: None,
            cut_keeps_hours: None,
            source: CareSource::Own,
        },
        cautions: Cautions::default(),
        note: String::new(),
    }
}

fn materials() -> HashMap<MaterialId, Material> {
    let all = [
        material(ROSE, "Rose", MaterialKind::Flower),
        Material {
            usable_length: Some(Length::from_um(26 * INCH)),
            loss: Some(Share::from_raw(100_000)),
            ..material(RUSCUS, "Ruscus", MaterialKind::Foliage)
        },
        material(BOWL, "Bowl", MaterialKind::Vessel),
        Material {
            usable_length: Some(Length::from_um(900 * INCH)),
            ..material(RIBBON, "Ribbon", MaterialKind::Sundry)
        },
        Material {
            loaned: true,
            loan_fee: Money::from_minor(250),
            ..material(STAND, "Stand", MaterialKind::Stand)
        },
    ];
    all.into_iter().map(|material| (material.id, material)).collect()
}

pub(crate) fn recipe(id: RecipeId, minutes: i64, lines: &[(Ingredient, Measure)]) -> Recipe {
    let line = |(ingredient, measure): &(Ingredient, Measure)| RecipeLine {
        id: RecipeLineId(0),
        ingredient: *ingredient,
        measure: *measure,
        note: String::new(),
        substitutes: Vec::new(),
    };
    Recipe {
        id,
        version: 1,
        name: format!("Recipe {id}"),
        category: Category::Table,
        minutes: Quantity::whole(minutes),
        holding_hours: 24,
        steps: String::new(),
        client_words: String::new(),
        note: String::new(),
        second_binding: None,
        stem_clearance: None,
        cautions: Cautions::default(),
        picture_id: None,
        travel: crate::recipes::Travel::default(),
        lines: lines.iter().map(line).collect(),
    }
}

pub(crate) fn book(recipes: Vec<Recipe>) -> RecipeBook {
    RecipeBook {
        recipes: recipes.into_iter().map(|recipe| (recipe.id, recipe)).collect(),
        materials: materials(),
    }
}

pub(crate) fn costs(list: &[(MaterialId, i64, i64)]) -> HashMap<MaterialId, UnitCost> {
    let cost = |(id, pack_price, pack_size): &(MaterialId, i64, i64)| {
        let cost = UnitCost {
            offer_id: OfferId(1),
            supplier_id: SupplierId(1),
            supplier_name: "Grower".into(),
            pack_name: "pack".into(),
            pack_size: *pack_size,
            pack_price: Money::from_minor(*pack_price),
            from_day: Day(jiff::civil::date(2026, 1, 1)),
        };
        (*id, cost)
    };
    list.iter().map(cost).collect()
}

fn usual() -> HashMap<MaterialId, UnitCost> {
    costs(&[(ROSE, 1_900, 20), (RUSCUS, 900, 10), (BOWL, 2_400, 12), (RIBBON, 450, 1)])
}

pub(crate) fn costing<'a>(book: &'a RecipeBook, costs: &'a HashMap<MaterialId, UnitCost>) -> Costing<'a> {
    Costing {
        book,
        costs,
        usual_loss: Share::from_raw(50_000),
        markups: Markups {
            fresh: Factor::from_raw(3_000),
            hard_goods: Factor::from_raw(2_000),
            sundries: Factor::from_raw(2_500),
        },
        labour: Labour {
            rule: LabourRule::Minutes,
            rate: Money::from_minor(3_000),
            share: Share::from_raw(250_000),
        },
        rounding: PriceRounding { step: Money::from_minor(50), direction: RoundingDirection::Up },
    }
}

pub(crate) fn count(id: MaterialId, thousandths: i64) -> (Ingredient, Measure) {
    (Ingredient::Material(id), Measure::Count { quantity: Quantity::from_raw(thousandths) })
}

/// 9.5 roses at 0.95 lose 5 %: 9.50. Six pieces of 8 in, 3 from a stem of 26 in: 2 stems at 0.90, of which 10 % are lost:
/// 2.00. A bowl 2.00, a loaned stand 2.50, 20 minutes at 30.00 an hour: 10.00. A roll for each 20 pieces at 4.50: 0.225.
pub(crate) fn centre() -> Recipe {
    let green = Measure::Cut { quantity: Quantity::whole(6), length: Length::from_um(8 * INCH) };
    let tape = Measure::OnePer { quantity: Quantity::whole(1), per: Some(20) };
    recipe(
        CENTRE,
        20,
        &[
            count(ROSE, 9_500),
            (Ingredient::Material(RUSCUS), green),
            count(BOWL, 1_000),
            (Ingredient::Material(RIBBON), tape),
            count(STAND, 1_000),
        ],
    )
}

#[test]
fn a_piece_worked_by_hand() {
    let (book, costs) = (book(vec![centre()]), usual());
    let price = costing(&book, &costs).piece(CENTRE, 10).unwrap();
    let parts = (price.fresh, price.hard_goods, price.sundries, price.loan, price.labour);
    let by_hand = (1_150.into(), 200.into(), Decimal::new(225, 1), 250.into(), 1_000.into());
    assert_eq!(parts, by_hand);
    assert_eq!(price.cost(), Decimal::new(26_225, 1));
    // 11.50 × 3 + 2.00 × 2 + 0.225 × 2.5 + 2.50 + 10.00 = 51.5625, up to 0.50: 52.00.
    assert_eq!(price.computed, Decimal::new(515_625, 2));
    assert_eq!(price.price, Money::from_minor(5_200));
    assert_eq!(price.margin_at(Money::from_minor(5_245)), Some(Decimal::new(5, 1)));
    assert_eq!(price.margin_at(Money::ZERO), None);
    assert!(price.unpriced.is_empty());
    let names: Vec<MaterialId> = price.lines.iter().map(|line| line.material).collect();
    assert_eq!(names, [ROSE, RUSCUS, BOWL, RIBBON, STAND]);
}

#[test]
fn labour_may_be_a_share_of_the_flowers_price_but_costs_its_minutes() {
    let (book, costs) = (book(vec![centre()]), usual());
    let mut costing = costing(&book, &costs);
    costing.labour.rule = LabourRule::Share;
    let price = costing.piece(CENTRE, 10).unwrap();
    assert_eq!((price.labour, price.labour_asked), (1_000.into(), Decimal::new(8_625, 1)));
}

#[test]
fn parts_bring_their_minutes_and_materials() {
    let part = (Ingredient::Part(CLUSTER), Measure::Count { quantity: Quantity::from_raw(2_500) });
    let cluster = recipe(CLUSTER, 4, &[count(ROSE, 3_000)]);
    let book = book(vec![recipe(CENTRE, 10, &[part, count(ROSE, 2_000)]), cluster]);
    let costs = usual();
    let price = costing(&book, &costs).piece(CENTRE, 1).unwrap();
    assert_eq!(price.minutes, Decimal::from(20));
    assert_eq!(price.lines.len(), 1);
    assert_eq!(price.lines[0].quantity, Decimal::new(95, 1));
}

#[test]
fn what_is_bought_once_an_event_is_divided_among_its_pieces() {
    let once = (Ingredient::Material(RIBBON), Measure::OnePer { quantity: Quantity::whole(1), per: None });
    let book = book(vec![recipe(CENTRE, 0, &[once, once])]);
    let costs = usual();
    let costing = costing(&book, &costs);
    assert_eq!(costing.piece(CENTRE, 10).unwrap().sundries, Decimal::from(45));
    assert_eq!(costing.piece(CENTRE, 1).unwrap().sundries, Decimal::from(450));
    assert_eq!(costing.piece(CENTRE, 0).unwrap().sundries, Decimal::from(450));
}

#[test]
fn a_wound_length_is_cut_from_the_roll() {
    let wound = Measure::Wound {
        quantity: Quantity::whole(1),
        turns: Quantity::whole(2),
        diameter: Length::from_um(5 * INCH),
        ends: Length::from_um(12 * INCH),
    };
    let book = book(vec![recipe(CENTRE, 0, &[(Ingredient::Material(RIBBON), wound)])]);
    let costs = usual();
    // 2 × π × 5 + 12 = 43.4 in: 20 from 900 in.
    assert_eq!(costing(&book, &costs).piece(CENTRE, 1).unwrap().sundries, Decimal::new(225, 1));
}

#[test]
fn what_has_no_cost_is_named_and_counts_as_nothing() {
    let long = Measure::Cut { quantity: Quantity::whole(1), length: Length::from_um(27 * INCH) };
    let cut = Measure::Cut { quantity: Quantity::whole(1), length: Length::from_um(INCH) };
    let lines = [(Ingredient::Material(RUSCUS), long), (Ingredient::Material(ROSE), cut), count(BOWL, 1_000)];
    let book = book(vec![recipe(CENTRE, 0, &lines)]);
    let costs = costs(&[(ROSE, 1_900, 20), (RUSCUS, 900, 10)]);
    let price = costing(&book, &costs).piece(CENTRE, 1).unwrap();
    assert_eq!(price.unpriced, [ROSE, RUSCUS, BOWL]);
    let why: Vec<Option<Missing>> = price.lines.iter().map(|line| line.missing).collect();
    assert_eq!(why, [Some(Missing::UsableLength), Some(Missing::TooShort), Some(Missing::Price)]);
    assert_eq!((price.cost(), price.price), (Decimal::ZERO, Money::ZERO));
}

#[test]
fn loops_giants_and_strangers_are_refused() {
    let giant = (Ingredient::Part(CLUSTER), Measure::Count { quantity: Quantity::from_raw(100_000_000) });
    let again = (Ingredient::Part(CENTRE), giant.1);
    let third = RecipeId(3);
    let deep = (Ingredient::Part(third), giant.1);
    let costs = usual();
    let looped = book(vec![recipe(CENTRE, 0, &[giant]), recipe(CLUSTER, 0, &[again])]);
    let piece = |book: &RecipeBook| costing(book, &costs).piece(CENTRE, 1).unwrap_err();
    assert_eq!(
        piece(&looped).to_string(),
        "A recipe cannot be a part of itself: Recipe 1 → Recipe 2 → Recipe 1."
    );
    let huge = book(vec![recipe(CENTRE, 0, &[giant]), recipe(CLUSTER, 0, &[deep]), recipe(third, 0, &[])]);
    assert_eq!(piece(&huge), ExplosionError::TooMuch("Recipe 3".into()));
    assert_eq!(piece(&book(vec![])), ExplosionError::Missing(CENTRE));
}

#[test]
fn a_step_takes_no_dust_for_a_reason_to_go_up() {
    let up = PriceRounding { step: Money::from_minor(1), direction: RoundingDirection::Up };
    let third = Decimal::from(100) / Decimal::from(3);
    assert_eq!(stepped(third + third + third, up), Money::from_minor(100));
    assert_eq!(stepped(third * Decimal::from(3) + Decimal::new(1, 15), up), Money::from_minor(100));
    assert_eq!(stepped(Decimal::new(1_001, 1), up), Money::from_minor(101));
}

fn probe(roses: i64, green: i64, rose_price: i64, minutes: i64, share: bool, step: i64) -> Money {
    let cut = Measure::Cut { quantity: Quantity::whole(6), length: Length::from_um(green) };
    let lines = [count(ROSE, roses), (Ingredient::Material(RUSCUS), cut), count(BOWL, 1_000)];
    let book = book(vec![recipe(CENTRE, minutes, &lines)]);
    let costs = costs(&[(ROSE, rose_price, 20), (RUSCUS, 900, 7), (BOWL, 2_400, 11)]);
    let mut costing = costing(&book, &costs);
    costing.labour.rule = if share { LabourRule::Share } else { LabourRule::Minutes };
    costing.rounding.step = Money::from_minor(step);
    costing.piece(CENTRE, 1).unwrap().price
}

proptest! {
    #[test]
    fn the_price_never_falls_when_a_cost_or_a_count_rises(
        (roses, more_roses) in (1_i64..50_000, 0_i64..50_000),
        (green, more_green) in (10_000_i64..600_000, 0_i64..60_000),
        (cost, more_cost) in (0_i64..100_000, 0_i64..100_000),
        (minutes, more_minutes) in (0_i64..600, 0_i64..600),
        share: bool, step in 1_i64..600,
    ) {
        let before = probe(roses, green, cost, minutes, share, step);
        prop_assert!(probe(roses + more_roses, green, cost, minutes, share, step) >= before);
        prop_assert!(probe(roses, green + more_green, cost, minutes, share, step) >= before);
        prop_assert!(probe(roses, green, cost + more_cost, minutes, share, step) >= before);
        prop_assert!(probe(roses, green, cost, minutes + more_minutes, share, step) >= before);
    }
}
