//! Who pays what (C5): each pack line by the stems each event takes of its material from its delivery, each fee by
//! what each event spends on that delivery. Left-over stems stay with the events that needed the material.

use rust_decimal::Decimal;

use super::{EventShare, LineShare, OrderDelivery};
use crate::ground::largest_remainder::split;
use crate::ground::money::Money;

/// A line's goods shared by the stems that each event takes. Where no event takes any (packs bought only to reach
/// a least order), by `otherwise`.
pub(super) fn line_shares(goods: Money, taken: &[i64], otherwise: &[i64]) -> Vec<LineShare> {
    let weights = if taken.iter().any(|stems| *stems > 0) { taken } else { otherwise };
    let weights: Vec<Decimal> = weights.iter().map(|stems| Decimal::from(*stems)).collect();
    let shares = split(goods.minor(), &weights);
    shares
        .into_iter()
        .zip(taken)
        .enumerate()
        .map(|(event, (goods, stems))| LineShare { event, stems: *stems, goods: Money::from_minor(goods) })
        .filter(|share| share.stems > 0 || !share.goods.is_zero())
        .collect()
}

/// What each of so many events pays of all deliveries.
pub(super) fn event_shares(events: usize, deliveries: &[OrderDelivery]) -> Vec<EventShare> {
    let mut shares: Vec<EventShare> = (0..events)
        .map(|event| EventShare { event, goods: Money::ZERO, fees: Money::ZERO, total: Money::ZERO })
        .collect();
    for delivery in deliveries {
        let mut spent = vec![Money::ZERO; events];
        for share in delivery.lines.iter().flat_map(|line| &line.by_event) {
            spent[share.event] += share.goods;
        }
        let weights: Vec<Decimal> = spent.iter().map(|spent| spent.decimal()).collect();
        let fees = split(delivery.fee.minor(), &weights);
        for (share, (goods, fee)) in shares.iter_mut().zip(spent.into_iter().zip(fees)) {
            share.goods += goods;
            share.fees += Money::from_minor(fee);
        }
    }
    for share in &mut shares {
        share.total = share.goods + share.fees;
    }
    shares
}
