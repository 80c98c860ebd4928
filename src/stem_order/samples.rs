//! Small materials, recipes and events for this room's tests.

use crate::events::{CountRule, Event, Piece};
use crate::ground::caution::Cautions;
use crate::ground::dates::{Day, Season, Weekdays};
use crate::ground::ids::{
    ClientId, EventId, MaterialId, OfferId, PieceId, PlaceId, PlacedDeliveryId, PlacedLineId, PlacedOrderId,
    RecipeId, RecipeLineId, StockLotId, SupplierId,
};
use crate::ground::largest_remainder::split_by;
use crate::ground::money::Money;
use crate::ground::quantity::{Length, Quantity};
use crate::price_list::{Care, CareSource, Material, MaterialKind, Offer, Supplier, Unit};
use crate::recipes::{Category, Ingredient, Measure, Recipe, RecipeBook, RecipeLine};
use crate::stem_order::placing::{
    AnswerKind, Answered, NewDelivery, NewLine, NewOrder, NewPlacement, PlacedDelivery, PlacedLine,
    PlacedOrder, PlacedShare,
};
use crate::stem_order::weekend::OnHand;

pub(crate) fn flower(id: i64, name: &str) -> Material {
    Material {
        id: MaterialId(id),
        version: 1,
        name: name.into(),
        kind: MaterialKind::Flower,
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
        spare_per: 20,
        care: Care {
            conditioning_minutes: 10,
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

pub(crate) fn foliage(id: i64, name: &str, inches: i64) -> Material {
    let usable_length = Some(Length::from_um(inches * 25_400));
    Material { kind: MaterialKind::Foliage, usable_length, ..flower(id, name) }
}

pub(crate) fn vessel(id: i64, name: &str) -> Material {
    Material { kind: MaterialKind::Vessel, unit: Unit::Each, ..flower(id, name) }
}

/// `quantity` in thousandths.
pub(crate) fn stems(material: i64, quantity: i64) -> (Ingredient, Measure) {
    let measure = Measure::Count { quantity: Quantity::from_raw(quantity) };
    (Ingredient::Material(MaterialId(material)), measure)
}

pub(crate) fn cut(material: i64, pieces: i64, inches: i64) -> (Ingredient, Measure) {
    let length = Length::from_um(inches * 25_400);
    (Ingredient::Material(MaterialId(material)), Measure::Cut { quantity: Quantity::whole(pieces), length })
}

pub(crate) fn recipe(id: i64, name: &str, lines: &[(Ingredient, Measure)]) -> Recipe {
    let line = |(number, (ingredient, measure)): (usize, &(Ingredient, Measure))| RecipeLine {
        id: RecipeLineId(i64::try_from(number).unwrap()),
        ingredient: *ingredient,
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

pub(crate) fn book(recipes: Vec<Recipe>, materials: Vec<Material>) -> RecipeBook {
    RecipeBook {
        recipes: recipes.into_iter().map(|recipe| (recipe.id, recipe)).collect(),
        materials: materials.into_iter().map(|material| (material.id, material)).collect(),
    }
}

/// A recipe that uses another one once.
pub(crate) fn part_of(mut whole: Recipe, part: Recipe) -> RecipeBook {
    whole.lines.push(RecipeLine {
        id: RecipeLineId(99),
        ingredient: Ingredient::Part(part.id),
        measure: Measure::Count { quantity: Quantity::whole(1) },
        note: String::new(),
        substitutes: Vec::new(),
    });
    book(vec![whole, part], Vec::new())
}

pub(crate) fn event(id: i64, name: &str, day: &str) -> Event {
    let day: Day = day.parse().unwrap();
    Event {
        id: EventId(id),
        version: 1,
        client_id: ClientId(1),
        client_name: "Ada".into(),
        name: name.into(),
        day,
        set_up_time: None,
        start_time: None,
        end_time: None,
        strike_time: None,
        venue: String::new(),
        venue_address: String::new(),
        venue_contact: String::new(),
        guests: None,
        tables: None,
        seats: None,
        budget: None,
        note: String::new(),
        enquired_on: day,
        ended: None,
    }
}

pub(crate) fn piece(recipe: i64, count: i64) -> Piece {
    Piece {
        id: PieceId(1),
        event_id: EventId(1),
        place_id: PlaceId(1),
        place: "Room".into(),
        recipe_id: RecipeId(recipe),
        recipe: "Piece".into(),
        rule: CountRule::Number,
        count: Quantity::whole(count),
        note: String::new(),
    }
}

/// Delivers every day without fee or least order, and takes orders until the day before at eleven.
pub(crate) fn supplier(id: i64, name: &str) -> Supplier {
    Supplier {
        id: SupplierId(id),
        version: 1,
        name: name.into(),
        contact: String::new(),
        email: String::new(),
        phone: String::new(),
        account: String::new(),
        delivery_weekdays: Weekdays(127),
        cutoff_days: 1,
        cutoff_time: "11:00".parse().unwrap(),
        delivery_fee: Money::ZERO,
        fee_waived_over: None,
        least_order: Money::ZERO,
        note: String::new(),
    }
}

/// A pack at a price in minor units.
pub(crate) fn offer(id: i64, supplier: i64, material: i64, size: i64, price: i64) -> Offer {
    Offer {
        id: OfferId(id),
        supplier_id: SupplierId(supplier),
        material_id: MaterialId(material),
        pack_name: "bunch".into(),
        pack_size: size,
        least_packs: 1,
        most_packs: None,
        season: Season::ALL_YEAR,
        price: Money::from_minor(price),
        from_day: "2026-01-01".parse().unwrap(),
    }
}

/// Offer, material, packs, and for each event its stems.
pub(crate) type SampleLine<'a> = (i64, i64, i64, &'a [(i64, i64)]);

/// One supplier's order to be placed: one delivery of packs of 10 at 500 each.
pub(crate) fn placement(once_key: &str, supplier: i64, day: &str, lines: &[SampleLine<'_>]) -> NewPlacement {
    let day: Day = day.parse().unwrap();
    let price = Money::from_minor(500);
    let line = |(offer, material, packs, shares): &SampleLine<'_>| {
        let stems: Vec<u64> = shares.iter().map(|(_, stems)| u64::try_from(*stems).unwrap()).collect();
        let goods = split_by(price.times(*packs).minor(), &stems);
        let shares = shares.iter().zip(goods).map(|((event, stems), goods)| PlacedShare {
            event_id: EventId(*event),
            stems: *stems,
            goods: Money::from_minor(goods),
        });
        NewLine {
            offer_id: OfferId(*offer),
            material_id: MaterialId(*material),
            name: format!("Material {material}"),
            looks: String::new(),
            pack_name: "bunch".into(),
            pack_size: 10,
            packs: *packs,
            price,
            working: String::new(),
            shares: shares.collect(),
        }
    };
    let lines: Vec<NewLine> = lines.iter().map(line).collect();
    let mut events: Vec<EventId> =
        lines.iter().flat_map(|line| &line.shares).map(|share| share.event_id).collect();
    events.sort_unstable();
    events.dedup();
    let delivery = NewDelivery {
        day,
        order_by_day: day.plus(-1),
        order_by_time: "11:00".parse().unwrap(),
        fee: Money::from_minor(1_500),
        lines,
    };
    let order = NewOrder {
        supplier_id: SupplierId(supplier),
        supplier: format!("Supplier {supplier}"),
        account: String::new(),
        contact: String::new(),
        email: String::new(),
        phone: String::new(),
        events,
        deliveries: vec![delivery],
    };
    NewPlacement {
        once_key: once_key.into(),
        placed_on: day.plus(-3),
        recorded_at: format!("{}T09:00:00Z", day.plus(-3)).parse().unwrap(),
        note: String::new(),
        orders: vec![order],
    }
}

/// So many pieces that came and were counted on a day, all free.
pub(crate) fn lot(id: i64, arrived: &str, count: i64) -> OnHand {
    let arrived_on: Day = arrived.parse().unwrap();
    OnHand {
        lot: StockLotId(id),
        arrived_on,
        counted_on: arrived_on,
        on_hand: count,
        note: String::new(),
        free: count,
        kept: Vec::new(),
        own: Vec::new(),
    }
}

/// A placed line of packs of 10 at 500, with the stems for each event.
pub(crate) fn placed_line(packs: i64, shares: &[(i64, i64)]) -> PlacedLine {
    let mut new = placement("key", 1, "2026-05-14", &[(1, 1, packs, shares)]);
    let line = new.orders[0].deliveries[0].lines.remove(0);
    PlacedLine {
        id: PlacedLineId(1),
        offer_id: line.offer_id,
        material_id: line.material_id,
        name: line.name,
        looks: line.looks,
        unit: Unit::Stem,
        pack_name: line.pack_name,
        pack_size: line.pack_size,
        packs: line.packs,
        price: line.price,
        working: line.working,
        answer: None,
        shares: line.shares,
    }
}

/// The line with what was said of it since.
pub(crate) fn answered(line: PlacedLine, kind: AnswerKind, packs: i64, price: i64) -> PlacedLine {
    let recorded_at = "2026-05-12T09:00:00Z".parse().unwrap();
    let (price, note) = (Money::from_minor(price), String::new());
    PlacedLine { answer: Some(Answered { kind, packs, price, note, recorded_at }), ..line }
}

/// An order with one delivery of these lines.
pub(crate) fn placed_order(lines: Vec<PlacedLine>) -> PlacedOrder {
    let day: Day = "2026-05-14".parse().unwrap();
    let (id, supplier_id) = (PlacedOrderId(12), SupplierId(1));
    let delivery = PlacedDelivery {
        id: PlacedDeliveryId(1),
        order_id: id,
        supplier_id,
        supplier: "Alder Wholesale".into(),
        day,
        order_by_day: day.plus(-2),
        order_by_time: "11:00".parse().unwrap(),
        fee: Money::from_minor(1_500),
        lines,
    };
    PlacedOrder {
        id,
        number: 12,
        supplier_id,
        supplier: "Alder Wholesale".into(),
        account: "A-17".into(),
        contact: String::new(),
        email: String::new(),
        phone: String::new(),
        placed_on: day.plus(-5),
        recorded_at: "2026-05-09T09:00:00Z".parse().unwrap(),
        note: String::new(),
        events: vec![EventId(1), EventId(2)],
        deliveries: vec![delivery],
    }
}
