//! What is known and asked about spares.

use ostler_core::record::{SpareContent, SpareDemand, SpareNeed, SparesPolicy};
use ostler_core::spares::demand::{DemandRate, RateProvenance};
use ostler_proto::v1;
use v1::counted_needs::Exposure;
use v1::spare_demand::{Rate, Source};

use super::{Converted, each, id, name};

/// The demand; `None` where no rate is stated.
pub(crate) fn spare_demand(message: v1::SpareDemand) -> Option<SpareDemand> {
    let v1::SpareDemand { rate, source } = message;
    let stated = source.map(|source| match source {
        Source::Published(source) => RateProvenance::Published(source),
        Source::Judged(grounds) => RateProvenance::Judged(grounds),
    });
    match rate? {
        Rate::Per100000Km(per_100_000_km) => Some(SpareDemand {
            rate: DemandRate::PerDistance { per_100_000_km },
            provenance: stated,
        }),
        Rate::PerDay(per_day) => Some(SpareDemand {
            rate: DemandRate::PerDay { per_day },
            provenance: stated,
        }),
        Rate::Counted(counted) => counted_demand(counted),
    }
}

fn counted_demand(message: v1::CountedNeeds) -> Option<SpareDemand> {
    let v1::CountedNeeds { count, exposure } = message;
    let count = u32::try_from(count).ok()?;
    let (exposure, rate): (f64, fn(f64) -> DemandRate) = match exposure? {
        Exposure::PieceKm(km) => (km / 100_000.0, |per_100_000_km| DemandRate::PerDistance {
            per_100_000_km,
        }),
        Exposure::PieceDays(days) => (days, |per_day| DemandRate::PerDay { per_day }),
    };
    Some(SpareDemand {
        rate: rate(f64::from(count) / exposure),
        provenance: Some(RateProvenance::Counted { count, exposure }),
    })
}

pub(crate) fn spare_content(message: v1::SpareContent) -> Converted<SpareContent> {
    let v1::SpareContent { part, pieces } = message;
    Ok(SpareContent {
        part: name("part", part)?,
        pieces: pieces.map_or(1, i32::unsigned_abs),
    })
}

pub(crate) fn spares_policy(message: v1::SparesPolicy) -> Converted<SparesPolicy> {
    let v1::SparesPolicy {
        needs,
        cover_min,
        mass_budget_kg,
    } = message;
    Ok(SparesPolicy {
        needs: each("needs", needs, spare_need)?,
        cover_min,
        mass_budget_kg,
    })
}

fn spare_need(message: v1::SpareNeed) -> Converted<SpareNeed> {
    let v1::SpareNeed {
        slot_kind,
        demand,
        importance,
    } = message;
    Ok(SpareNeed {
        slot_kind: id("slot_kind", slot_kind)?,
        demand: demand.and_then(spare_demand),
        importance: importance.unwrap_or(1.0),
    })
}
