//! Cutting stock against published and computed optima (`fixtures/cutting.json` names the source of each case).

use serde_json::Value;
use trug::stem_order::cutting::lay_out;

#[test]
fn every_case_is_proven_at_its_optimum() {
    let cases: Vec<Value> = serde_json::from_str(include_str!("../fixtures/cutting.json")).unwrap();
    assert_eq!(cases.len(), 10);
    for case in &cases {
        let pieces: Vec<(i64, u64)> = serde_json::from_value(case["pieces"].clone()).unwrap();
        let layout = lay_out(case["stock_length"].as_i64().unwrap(), &pieces).unwrap();
        let optimum = case["optimum"].as_u64().unwrap();
        let answer = (layout.stock_pieces, layout.lower_bound, layout.proven);
        assert_eq!(answer, (optimum, optimum, true), "{}", case["name"]);
    }
}
