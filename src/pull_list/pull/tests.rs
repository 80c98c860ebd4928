use std::collections::HashMap;

use proptest::prelude::*;

use super::*;
use crate::events::CountRule;
use crate::ground::ids::{ClientId, KitItemId, MaterialId, PieceId, PlaceId, PullExtraId, RecipeLineId};
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Quantity};
use crate::price_list::{Care, CareSource, Material, Unit};
use crate::pull_list::KitKind;
use crate::pull_list::room::Measured;
use crate::recipes::{Category, Ingredient, Measure, Recipe, RecipeLine};
use crate::studio::Studio;

const BOWL: i64 = 1;
const VOTIVE: i64 = 2;
const RIBBON: i64 = 3;
const TAPE: i64 = 4;

fn material(id: i64, name: &str, kind: MaterialKind) -> Material {
    Material {
        id: MaterialId(id),
        version: 1,
        name: name.into(),
        kind,
        colour: String::new(),
        grade: String::new(),
        unit: Unit::Each,
        head_class: None,
        usable_length: None,
        loss: None,
        preferred_supplier_id: None,
        inner_height: None,
        inner_diameter: None,
        loaned: false,
        owned: 0,
        loan_fee: Money::ZERO,
        spare_per: 20,
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
    let bowl = Material {
        loaned: true,
        owned: 20,
        spare_per: 0,
        inner_height: Some(Length::from_um(152_400)),
        inner_diameter: Some(Length::from_um(50_800)),
        ..material(BOWL, "Bud vase", MaterialKind::Vessel)
    };
    let ribbon = Material {
        unit: Unit::Roll,
        usable_length: Some(Length::from_um(10_000_000)),
        spare_per: 0,
        ..material(RIBBON, "Ribbon", MaterialKind::Sundry)
    };
    let votive = material(VOTIVE, "Votive", MaterialKind::Candle);
    let tape = Material { spare_per: 0, ..material(TAPE, "Tape", MaterialKind::Mechanics) };
    [bowl, votive, ribbon, tape].into_iter().map(|material| (material.id, material)).collect()
}

fn recipe(id: i64, name: &str, lines: &[(i64, Measure)]) -> Recipe {
    let line = |(number, (material, measure)): (usize, &(i64, Measure))| RecipeLine {
        id: RecipeLineId(i64::try_from(number).unwrap()),
        ingredient: Ingredient::Material(MaterialId(*material)),
        measure: *measure,
        note: String::new(),
        substitutes: Vec::new(),
    };
    Recipe {
        id: RecipeId(id),
        version: 1,
        name: name.into(),
        category: Category::Table,
        minutes: Quantity::whole(10),
        holding_hours: 24,
        steps: String::new(),
        client_words: String::new(),
        note: String::new(),
        second_binding: None,
        stem_clearance: None,
        cautions: Cautions::default(),
        picture_id: None,
        travel: crate::recipes::Travel::default(),
        lines: lines.iter().enumerate().map(line).collect(),
    }
}

fn count(thousandths: i64) -> Measure {
    Measure::Count { quantity: Quantity::from_raw(thousandths) }
}

fn book() -> RecipeBook {
    let cut = Measure::Cut { quantity: Quantity::whole(1), length: Length::from_um(900_000) };
    let tape = Measure::OnePer { quantity: Quantity::whole(1), per: Some(20) };
    let low = recipe(1, "Low", &[(BOWL, count(1_000)), (VOTIVE, count(2_500)), (RIBBON, cut), (TAPE, tape)]);
    let tall = recipe(2, "Tall", &[(BOWL, count(1_000)), (TAPE, tape)]);
    RecipeBook {
        recipes: [low, tall].into_iter().map(|recipe| (recipe.id, recipe)).collect(),
        materials: materials(),
    }
}

fn piece(id: i64, place: i64, recipe: i64, count: i64) -> Piece {
    Piece {
        id: PieceId(id),
        event_id: EventId(1),
        place_id: PlaceId(place),
        place: format!("Place {place}"),
        recipe_id: RecipeId(recipe),
        recipe: if recipe == 1 { "Low".into() } else { "Tall".into() },
        rule: CountRule::Number,
        count: Quantity::whole(count),
        note: String::new(),
    }
}

fn inputs(pieces: Vec<Piece>) -> PullInputs {
    let event = Event {
        id: EventId(1),
        version: 1,
        client_id: ClientId(1),
        client_name: "Ada".into(),
        name: "Supper".into(),
        day: "2026-05-16".parse().unwrap(),
        set_up_time: None,
        start_time: None,
        end_time: None,
        strike_time: None,
        venue: "Mill".into(),
        venue_address: String::new(),
        venue_contact: String::new(),
        guests: None,
        tables: None,
        seats: None,
        budget: None,
        note: String::new(),
        enquired_on: "2026-01-05".parse().unwrap(),
        ended: None,
    };
    PullInputs { event, pieces, book: book(), kit: Vec::new(), extras: Vec::new() }
}

fn of(inputs: &PullInputs) -> PullList {
    list(inputs, &Studio::new_book().formats).unwrap()
}

fn line<'a>(list: &'a PullList, heading: &str, name: &str) -> &'a PullLine {
    let group = list.groups.iter().find(|group| group.heading == heading).expect(heading);
    group.lines.iter().find(|line| line.name == name).expect(name)
}

#[test]
fn hard_goods_are_counted_by_place_and_the_rest_once() {
    let list = of(&inputs(vec![piece(1, 1, 1, 13), piece(2, 2, 1, 2), piece(3, 2, 2, 9)]));
    assert_eq!(line(&list, "Place 1", "Low").count, 13);
    let votives = line(&list, "Place 1", "Votive");
    assert_eq!(votives.count, 33, "13 × 2.5 = 32.5, rounded up");
    assert_eq!(votives.working, "13 × 2.5 (Low) = 32.5, rounded up");
    let vases = line(&list, "Place 2", "Bud vase");
    assert!(vases.comes_back && vases.count == 11);
    assert_eq!(line(&list, WHOLE_EVENT, "Tape").count, 2, "24 pieces want two rolls");
    // Ten metres give eleven lengths of 90 cm; 15 are wanted.
    assert_eq!(line(&list, WHOLE_EVENT, "Ribbon").count, 2);
    assert_eq!(line(&list, SPARES, "Votive").count, 2, "33 + 5 votives, one spare for each started 20");
    assert!(list.shortages[0].contains("Bud vase: 24 are wanted, the studio owns 20. Hire or buy 4."));
    assert!(list.cautions.contains(&Caution::Flame), "candles bring their caution");
}

#[test]
fn water_fills_the_vessels_three_quarters() {
    let list = of(&inputs(vec![piece(1, 1, 2, 20)]));
    let water = line(&list, WHOLE_EVENT, "Water for the vessels");
    // π ÷ 4 × 0.508² × 1.524 × 0.75 = 0.2317 litres each, 4.63 in all.
    assert_eq!((water.count, list.top_up), (5, 2), "a quarter of 4.63 litres, rounded up");
    assert_eq!(line(&list, WHOLE_EVENT, "Water to top up").count, 2);
    assert!(line(&list, "Place 1", "Bud vase").note.starts_with("0.24 litres each"));
    assert_eq!(of(&inputs(Vec::new())).top_up, 0);
}

#[test]
fn open_counts_are_named_and_left_out() {
    let mut inputs = inputs(vec![piece(1, 1, 1, 1)]);
    inputs.pieces[0].rule = CountRule::PerTable;
    let list = of(&inputs);
    assert_eq!(list.open_counts, ["Low, Place 1: 1 a table"]);
    assert!(list.groups.is_empty(), "nothing counted, nothing pulled: {:?}", list.groups);
}

#[test]
fn the_kit_goes_by_its_rule_and_extras_where_they_belong() {
    let mut inputs = inputs(vec![piece(1, 1, 2, 21)]);
    let item = |id, name: &str, kind, per_pieces| KitItem {
        id: Some(KitItemId(id)),
        name: name.into(),
        kind,
        quantity: 2,
        per_pieces,
        measured: Measured::default(),
    };
    inputs.kit = vec![item(1, "Knife", KitKind::Tool, None), item(2, "Sacks", KitKind::Sundry, Some(10))];
    let extra = |id, place: &str| PullExtra {
        id: Some(PullExtraId(id)),
        name: format!("Easel {id}"),
        quantity: 1,
        place: place.into(),
        note: String::new(),
        measured: Measured::default(),
    };
    inputs.extras = vec![extra(1, "place 1"), extra(2, ""), extra(3, "Gate")];
    let list = of(&inputs);
    assert_eq!((line(&list, KIT, "Knife").count, line(&list, KIT, "Sacks").count), (2, 6));
    assert!(line(&list, KIT, "Knife").comes_back && !line(&list, KIT, "Sacks").comes_back);
    line(&list, "Place 1", "Easel 1");
    line(&list, WHOLE_EVENT, "Easel 2");
    line(&list, "Gate", "Easel 3");
}

#[test]
fn lengths_longer_than_the_roll_are_named() {
    let mut inputs = inputs(vec![piece(1, 1, 1, 1)]);
    let ribbon = inputs.book.materials.get_mut(&MaterialId(RIBBON)).unwrap();
    ribbon.usable_length = Some(Length::from_um(500_000));
    let list = of(&inputs);
    assert!(list.shortages[0].contains("Ribbon: 1 × 90\u{a0}cm. How many that takes cannot be told"));
    assert_eq!(line(&list, WHOLE_EVENT, "Ribbon").count, 1);
    inputs.book.materials.get_mut(&MaterialId(RIBBON)).unwrap().usable_length = None;
    assert!(of(&inputs).shortages[0].starts_with("Ribbon"));
}

proptest! {
    #[test]
    fn each_count_appears_exactly_once(
        pieces in prop::collection::vec((1_i64..4, 1_i64..3, 1_i64..400), 1..12),
    ) {
        let numbered = (1_i64..).zip(&pieces);
        let pieces = numbered.map(|(id, (place, recipe, n))| piece(id, *place, *recipe, *n));
        let inputs = inputs(pieces.collect());
        let list = of(&inputs);
        let lines = || list.groups.iter().flat_map(|group| &group.lines);
        let sum = |kind: &str| lines().filter(|line| line.kind == kind).map(|line| line.count).sum::<i64>();
        let all: i64 = inputs.pieces.iter().filter_map(|piece| inputs.event.count_of(piece)).sum();
        prop_assert_eq!(sum("Piece"), all);
        // One bud vase a piece, whatever the recipe; loaned and without spares.
        prop_assert_eq!(sum("Vessel"), all);
        let lent = lent(&inputs.event, &inputs.pieces, &inputs.book, &Studio::new_book().formats).unwrap();
        prop_assert_eq!(lent, BTreeMap::from([(MaterialId(BOWL), all)]));
        let mut keys: Vec<_> = lines().map(|line| &line.key).collect();
        let before = keys.len();
        keys.sort_unstable();
        keys.dedup();
        prop_assert_eq!(keys.len(), before, "a tick belongs to one line");
    }
}
