//! Stowage of departures.

use std::time::Duration;

use ostler_core::record::Name;
use ostler_core::stowage::{
    Progress, ROOF_ITEM_MAX_KG, STEPS_MAX, SolveOptions, Subject, Terms, Whereto, from_record, solve,
};
use ostler_proto::v1;

use super::kinds::{CargoItems, Departures, name_of};
use super::long_work::{Steps, Watched, apart};
use super::{App, AppError};
use crate::convert::stowage::{progress_message, stowage_message};

/// Seconds that a search takes when the caller says nothing.
const TIME_LIMIT_DEFAULT_S: f64 = 2.0;

impl App {
    /// Places the cargo of a departure; the steps go to `steps`, last the stowage.
    ///
    /// # Errors
    /// When the departure does not exist, or a cargo item that is named is not of its fleet or vehicles.
    pub async fn compute_stowage(
        &self,
        request: v1::ComputeStowageRequest,
        steps: &Steps<v1::ComputeStowageResponse>,
    ) -> Result<v1::Stowage, AppError> {
        let v1::ComputeStowageRequest {
            departure,
            time_limit_s,
            steps_max,
            seed,
            unstowed,
            pinned,
            roof_item_mass_max_kg,
            give_up_fraction,
        } = request;
        let departure = name_of::<Departures>("departure", &departure)?;
        let (read, departure) = self.read_departure(&departure).await?;
        let roof_item_max_kg = roof_item_mass_max_kg.unwrap_or(ROOF_ITEM_MAX_KG);
        let terms = Terms {
            bans: vec![
                (Subject::AnyHazard, Whereto::OccupantSpace),
                (Subject::HeavierThan(roof_item_max_kg), Whereto::Roof),
            ],
            unstowed: cargo_items("unstowed", &unstowed)?,
            pinned: cargo_items("pinned", &pinned)?,
            ..Terms::default()
        };
        let limit_s = match time_limit_s {
            0.0 => TIME_LIMIT_DEFAULT_S,
            given => given,
        };
        let options = SolveOptions {
            seed: u64::from(seed.unsigned_abs()),
            steps_max: match steps_max.unsigned_abs() {
                0 => STEPS_MAX,
                given => given,
            },
            give_up_share: give_up_fraction.unwrap_or(SolveOptions::default().give_up_share),
        };
        let steps = steps.clone();
        apart("stowage", move || {
            let asked = from_record(&read.record, &departure, &terms)?;
            let tell = |progress: Progress| {
                let step = v1::compute_stowage_response::Step::Progress(progress_message(progress));
                // A caller who reads slowly misses some of these, never the stowage.
                drop(steps.try_send(Ok(v1::ComputeStowageResponse { step: Some(step) })));
            };
            let is_gone = || steps.is_closed();
            let watch = Watched::new(&is_gone, &tell, Some(Duration::from_secs_f64(limit_s)));
            let found = solve(&asked.convoy, &options, &watch)?;
            let version = read.version();
            Ok(stowage_message(&read.record, &departure, version, asked, found))
        })
        .await
    }
}

fn cargo_items(field: &str, texts: &[String]) -> Result<Vec<Name>, AppError> {
    let names = texts.iter().enumerate();
    names
        .map(|(index, text)| Ok(name_of::<CargoItems>(&format!("{field}[{index}]"), text)?))
        .collect()
}
