//! What is left of earlier assessments of a departure, for the next.

use std::sync::{Arc, Mutex, PoisonError};

use super::own::Owns;
use super::results::{Latest, Results};
use super::{Finding, Gate, Packs, VehicleReadiness};
use crate::loads::{BeforeCargo, LoadResult};
use crate::plan::shop::{Stated, stated};
use crate::record::{CargoItem, Date, Departure, Items, Record, Shared};
use crate::restraint::Aboard;
use crate::spares::recorded::{Covered, DepartureSpares, OnRecord};
use crate::stance::recorded_heights::Diagnoses;
use crate::stance::standing::Standing;
use crate::supplies::{DepartureFuel, DepartureWater, ExtraLoad, Planned, Room, Sharing, VehicleFuel};
use crate::tyres::convoy::{ConvoySpares, Ends};
use crate::tyres::wheel_loads::WheelLoads;

/// Results of earlier assessments of one departure. Whoever assesses it again and again hands in the same one: what nothing
/// has changed for is not computed again.
#[derive(Debug, Default)]
pub struct Earlier {
    pub(super) diagnoses: Arc<Diagnoses>,
    stated: Results<Stated>,
    record: Mutex<Option<Record>>,
    pub(super) departure: Latest<Departure>,
    pub(super) packs: Latest<Packs>,
    pub(super) own: Owns,
    pub(super) before_cargo: Results<BeforeCargo>,
    pub(super) states: Results<Vec<LoadResult>>,
    pub(super) standing: Results<Standing>,
    pub(super) measured_heights: Results<Vec<Finding>>,
    pub(super) restrained: Results<Aboard>,
    pub(super) wheel_loads: Results<WheelLoads>,
    pub(super) ends: Results<Ends>,
    pub(super) spare_cargo: Latest<Items<CargoItem>>,
    pub(super) spare_wheels: Results<ConvoySpares>,
    pub(super) spares_on_record: Results<OnRecord>,
    pub(super) spares_covered: Results<Covered>,
    pub(super) spare_parts: Results<DepartureSpares>,
    pub(super) vehicle_fuel: Results<VehicleFuel>,
    pub(super) rooms: Results<Room>,
    pub(super) sharing: Results<Sharing>,
    pub(super) planned: Results<Vec<Planned>>,
    pub(super) extra: Results<Vec<Option<ExtraLoad>>>,
    pub(super) fuel: Results<DepartureFuel>,
    pub(super) water: Results<DepartureWater>,
    pub(super) gates: Results<Gate>,
    pub(super) settled: Results<Vec<Gate>>,
    pub(super) vehicles: Results<VehicleReadiness>,
}

impl Earlier {
    /// Nothing yet, but what is known of leans. A diagnosis is kept by what it starts from, whatever the departure.
    pub fn with(diagnoses: Arc<Diagnoses>) -> Self {
        Self {
            diagnoses,
            ..Self::default()
        }
    }

    /// `record`, made of the parts of the one before as far as these are equal: what was made of them need not be compared with it
    /// part by part.
    pub(super) fn record(&self, record: &Record) -> Record {
        let mut latest = self.record.lock().unwrap_or_else(PoisonError::into_inner);
        let record = match &*latest {
            Some(before) => record.shared_with(before),
            None => record.share(),
        };
        latest.insert(record).share()
    }

    /// Whether nothing was assessed yet.
    pub fn is_empty(&self) -> bool {
        !self.settled.has((None, "settled"))
    }

    /// What the record states of the plan of `departure` from `today` on, as [`stated()`] has it.
    pub fn stated(&self, record: &Record, departure: &Departure, today: Date) -> Shared<Stated> {
        let inputs = (
            self.record(record),
            self.departure.of(departure),
            Shared::from(today),
        );
        self.stated
            .of((None, "stated"), &inputs, |(record, departure, today)| {
                stated(record, departure, **today)
            })
    }
}
