use proptest::prelude::*;

use super::*;
use crate::events::Piece;
use crate::ground::ids::{EventId, PieceId, PlaceId, PullExtraId};
use crate::price_list::Material;
use crate::pull_list::loading::sheet::{LoadInputs, sheet};
use crate::pull_list::loading::usual::usual_crates;
use crate::pull_list::pull::list;
use crate::pull_list::room::Measured;
use crate::pull_list::usual_kit::usual_kit;
use crate::pull_list::{KitItem, PullExtra};
use crate::stem_order::samples;
use crate::studio::Studio;

fn inputs(pieces: &[(i64, i64, i64)]) -> PullInputs {
    let bowl = Material { loaned: true, owned: 40, spare_per: 0, ..samples::vessel(1, "Bowl") };
    let jar = Material { spare_per: 0, ..samples::vessel(2, "Jar") };
    let stems = |material| [samples::stems(material, 1_000), samples::stems(3, 5_000)];
    let book = samples::book(
        vec![samples::recipe(1, "Low bowl", &stems(1)), samples::recipe(2, "Jar of sweet peas", &stems(2))],
        vec![bowl, jar, samples::flower(3, "Rose")],
    );
    let piece = |(at, (place, recipe, count)): (i64, &(i64, i64, i64))| Piece {
        id: PieceId(at),
        place_id: PlaceId(*place),
        place: format!("Place {place}"),
        recipe: if *recipe == 1 { "Low bowl".into() } else { "Jar of sweet peas".into() },
        ..samples::piece(*recipe, *count)
    };
    let kit = (1..)
        .zip(usual_kit())
        .map(|(id, item)| KitItem { id: Some(crate::ground::ids::KitItemId(id)), ..item });
    let extra = PullExtra {
        id: Some(PullExtraId(1)),
        name: "Easel".into(),
        quantity: 1,
        place: "Place 1".into(),
        note: String::new(),
        measured: Measured::default(),
    };
    PullInputs {
        event: samples::event(1, "Supper", "2026-05-16"),
        pieces: (1..).zip(pieces).map(piece).collect(),
        book,
        kit: kit.collect(),
        extras: vec![extra],
    }
}

fn struck_of(inputs: &PullInputs) -> Vec<StrikePlace> {
    let pull = list(inputs, &Studio::new_book().formats).unwrap();
    strike_list(inputs, &pull).unwrap()
}

#[test]
fn what_is_lent_comes_back_and_the_rest_stays() {
    let places = struck_of(&inputs(&[(1, 1, 12), (1, 2, 6), (2, 2, 3)]));
    let said: Vec<(&str, i64, Fate)> =
        places[0].lines.iter().map(|line| (line.name.as_str(), line.count, line.fate)).collect();
    assert_eq!(
        said,
        [
            ("Bowl", 12, Fate::Back),
            ("Easel", 1, Fate::Back),
            ("Low bowl", 12, Fate::TakenApart),
            ("Jar of sweet peas", 6, Fate::Stays)
        ]
    );
    assert_eq!(places[1].lines.len(), 1, "a jar stays");
    let kit = places.iter().find(|place| place.heading == KIT).unwrap();
    assert!(kit.lines.iter().all(|line| line.fate == Fate::Back));
    assert!(
        kit.lines.iter().any(|line| line.name == "Secateurs")
            && !kit.lines.iter().any(|line| line.name == "Cloths")
    );
}

#[test]
fn crates_cans_and_tools_went_out() {
    let formats = Studio::new_book().formats;
    let load = LoadInputs { drops: vec![inputs(&[(1, 1, 12)])], kinds: usual_crates(), vans: Vec::new() };
    let loaded = sheet(load, &formats).unwrap();
    let drop = &loaded.drops[0];
    let went = went_out(drop, &loaded.kinds);
    let crates: i64 = went
        .iter()
        .filter(|line| loaded.kinds.iter().any(|kind| kind.name == line.what))
        .map(|line| line.went)
        .sum();
    assert_eq!(usize::try_from(crates).unwrap(), drop.packed.crates.len() + drop.goods.crates.len());
    assert!(went.iter().any(|line| line.what == "Secateurs" && line.went == 2 && line.back == 2));
    assert!(!went.iter().any(|line| line.what == "Cloths"), "what is used up does not come back");
}

#[test]
fn nothing_is_nothing() {
    let none = PullInputs { kit: Vec::new(), extras: Vec::new(), ..inputs(&[]) };
    assert!(struck_of(&none).is_empty());
    assert_eq!(none.event.id, EventId(1));
}

proptest! {
    #[test]
    fn every_piece_is_taken_apart_or_stays_once(
        pieces in prop::collection::vec((1_i64..4, 1_i64..3, 1_i64..60), 1..9),
    ) {
        let inputs = inputs(&pieces);
        let pull = list(&inputs, &Studio::new_book().formats).unwrap();
        let places = strike_list(&inputs, &pull).unwrap();
        let sum = |fate: Fate| places.iter().flat_map(|place| &place.lines).filter(|line| line.fate == fate).map(|line| line.count).sum::<i64>();
        let made = |recipe: i64| pieces.iter().filter(|(_, own, _)| *own == recipe).map(|(_, _, count)| count).sum::<i64>();
        prop_assert_eq!((sum(Fate::TakenApart), sum(Fate::Stays)), (made(1), made(2)));
        let back: i64 = pull.groups.iter().flat_map(|group| &group.lines).filter(|line| line.comes_back).map(|line| line.count).sum();
        prop_assert_eq!(sum(Fate::Back), back + 1, "and the easel");
    }
}
