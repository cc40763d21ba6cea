//! Plans of departures.

use std::sync::Arc;
use std::time::Duration;

use ostler_core::check::InvalidInput;
use ostler_core::plan::chance::{Chance, Gain, chance, gains, suggested_changes};
use ostler_core::plan::latest::{OrderBy, latest_schedule, order_by_dates};
use ostler_core::plan::moment::date_of_day;
use ostler_core::plan::outlook::{PlanOutlook, chance_options, schedule, working_order};
use ostler_core::plan::replan::follow;
use ostler_core::plan::search::{SCHEDULES_MAX, SearchOptions, SearchProgress, Unwatched, Watch};
use ostler_core::plan::shop::{ShopPlan, Stated, stated, stated_from};
use ostler_core::plan::three_point::Spread;
use ostler_core::readiness::Earlier;
use ostler_core::record::{Date, Departure, Record, Shared};
use ostler_proto::v1;
use ostler_sheet::plan_files;

use super::kinds::{Departures, name_of};
use super::long_work::{Steps, Watched, apart};
use super::record::Read;
use super::sheets::page_size;
use super::{App, AppError};
use crate::convert::plan::{self as message, Context};

/// Seconds that a search takes when the caller says nothing.
const TIME_LIMIT_DEFAULT_S: f64 = 5.0;
/// Samples taken when the caller says nothing.
const SAMPLES_DEFAULT: u64 = 20_000;
/// Samples of the first answer; each further one has four times as many.
const SAMPLES_FIRST: u64 = 2_048;
/// Samples for which changes are compared at the most: all changes are sampled beside the plan.
const GAIN_SAMPLES_MAX: u64 = 5_000;
/// Chance of arriving in time when neither the caller nor the policy says one.
const ARRIVAL_CHANCE_DEFAULT: f64 = 0.9;
impl App {
    /// Schedules the jobs of a departure; the steps go to `steps`, last the plan.
    ///
    /// # Errors
    /// When the departure does not exist or its jobs cannot be scheduled.
    pub async fn compute_plan(
        &self,
        request: v1::ComputePlanRequest,
        steps: &Steps<v1::ComputePlanResponse>,
    ) -> Result<v1::BuildPlan, AppError> {
        let v1::ComputePlanRequest {
            departure,
            start_date,
            time_limit_s,
            schedules_max,
            seed,
            replan_freely,
            formats,
            page_size: paper,
        } = request;
        let size = page_size(paper == i32::from(v1::PageSize::Letter));
        let formats = plan_formats(&formats)?;
        let (read, context, stated) = self.stated_plan(&departure, &start_date).await?;
        let shop = match stated {
            Stated::ToDo(shop) => shop,
            nothing => return Ok(message::plan_without_jobs(&context, nothing)),
        };
        let limit_s = match time_limit_s {
            0.0 => TIME_LIMIT_DEFAULT_S,
            given => given,
        };
        let options = SearchOptions {
            seed: u64::from(seed.unsigned_abs()),
            islands: 2,
            schedules_max: match schedules_max.unsigned_abs() {
                0 => SCHEDULES_MAX,
                given => given,
            },
        };
        let steps = steps.clone();
        let now_micros = self.now_micros();
        let fonts = self.fonts.clone();
        apart("plan", move || {
            let told = message::Progress::of(&shop);
            let tell = |progress: SearchProgress| {
                let progress = told.message(progress);
                let step = v1::compute_plan_response::Step::Progress(progress);
                // A caller who reads slowly misses some of these, never the plan.
                drop(steps.try_send(Ok(v1::ComputePlanResponse { step: Some(step) })));
            };
            let is_gone = || steps.is_closed();
            let watch = Watched::new(&is_gone, &tell, Some(Duration::from_secs_f64(limit_s)));
            let scheduled = schedule(&shop, &options, replan_freely, &watch)?;
            let mut plan = message::plan_message(&context, &read.record, &shop, &scheduled);
            for format in formats {
                let files = plan_files(&plan, format, size, now_micros, &fonts);
                plan.files.extend(files.map_err(|source| AppError::Corrupt {
                    name: plan.departure.clone(),
                    source: Box::new(source),
                })?);
            }
            Ok(plan)
        })
        .await
    }

    /// Samples the chance that the vehicles of a departure are ready; answers go to `steps`.
    ///
    /// # Errors
    /// When the departure does not exist or its jobs cannot be scheduled.
    pub async fn compute_chance(
        &self,
        request: v1::ComputeChanceRequest,
        steps: &Steps<v1::ComputeChanceResponse>,
    ) -> Result<v1::PlanChance, AppError> {
        let v1::ComputeChanceRequest {
            departure,
            start_date,
            sample_count,
            seed,
            gains: compare,
            arrival_chance,
        } = request;
        let (read, context, stated) = self.stated_plan(&departure, &start_date).await?;
        let shop = match stated {
            Stated::ToDo(shop) => shop,
            nothing => return Ok(message::chance_without_jobs(&context, nothing)),
        };
        let samples = match sample_count.unsigned_abs() {
            0 => SAMPLES_DEFAULT,
            given => given,
        };
        let arrival = arrival_chance
            .or(context.ready_chance_min)
            .unwrap_or(ARRIVAL_CHANCE_DEFAULT)
            .clamp(0.01, 0.99);
        let asked = Asked {
            samples,
            seed: u64::from(seed.unsigned_abs()),
            compare,
            arrival,
        };
        let steps = steps.clone();
        apart("chance", move || sampled(&read, &context, &shop, &asked, &steps)).await
    }

    /// The plan as the record states it, with what results about it say besides.
    async fn stated_plan(
        &self,
        departure: &str,
        start_date: &str,
    ) -> Result<(Read, Context, Stated), AppError> {
        let departure = name_of::<Departures>("departure", departure)?;
        let (read, departure) = self.read_departure(&departure).await?;
        let start = crate::convert::optional_date("start_date", start_date)?;
        let stated = match start {
            Some(start) => stated_from(&read.record, &departure, start),
            None => stated(&read.record, &departure, self.today()),
        };
        let context = Context::of(&departure, read.version());
        Ok((read, context, stated))
    }

    /// The day it is, by UTC: civil time where a plan starts may be a day ahead or behind.
    pub fn today(&self) -> Date {
        day_of(self.now_micros())
    }

    /// What readiness is told of a departure's plan. Kept for as long as the plan is the same, whatever else changes.
    ///
    /// # Errors
    /// When the work is torn off by the server's end.
    pub(super) async fn outlook(
        &self,
        record: &Record,
        departure: &Departure,
    ) -> Result<Shared<PlanOutlook>, AppError> {
        let now = self
            .earlier
            .of(&departure.name)
            .stated(record, departure, self.today());
        let key = departure.name.to_string();
        if let Some(kept) = kept(&self.outlooks, &key, &now) {
            return Ok(kept);
        }
        let kept = apart("outlook of the plan", move || {
            let outlook = PlanOutlook::of(Stated::clone(&now), &Unwatched).into();
            Ok(Arc::new((now, outlook)))
        })
        .await?;
        self.outlooks.insert(key, kept.clone());
        Ok(kept.1.clone())
    }
}

impl App {
    /// Computes the outlook of a departure and proves its rule packs before a transaction that asks for them begins, so that the
    /// work is not done while the database is held. What is wrong with the name is told by the transaction.
    pub(super) async fn foresee(&self, departure: &str) {
        let Ok(name) = name_of::<Departures>("departure", departure) else {
            return;
        };
        if let Ok((read, departure)) = self.read_departure(&name).await {
            drop(self.outlook(&read.record, &departure).await);
            drop(self.packs(&read.record, &departure));
        }
    }
}

/// The outlook of a departure at `time`: the kept one, if the plan is still the same.
pub(super) fn outlook_at(
    outlooks: &Outlooks,
    earlier: &Earlier,
    record: &Record,
    departure: &Departure,
    time: i64,
) -> Shared<PlanOutlook> {
    let now = earlier.stated(record, departure, day_of(time));
    let compute = || PlanOutlook::of(Stated::clone(&now), &Unwatched).into();
    kept(outlooks, &departure.name, &now).unwrap_or_else(compute)
}

/// The kept outlook of a departure, if it is that of the plan as it is `now`.
fn kept(outlooks: &Outlooks, departure: &str, now: &Shared<Stated>) -> Option<Shared<PlanOutlook>> {
    let kept = outlooks.get(departure)?;
    (kept.0 == *now).then(|| kept.1.clone())
}

/// The forms asked for, each once.
fn plan_formats(formats: &[i32]) -> Result<Vec<v1::PlanFormat>, AppError> {
    let mut known = Vec::new();
    for (index, format) in formats.iter().enumerate() {
        let field = || format!("formats[{index}]");
        match v1::PlanFormat::try_from(*format) {
            Ok(v1::PlanFormat::Unspecified) | Err(_) => {
                return Err(AppError::field(field(), "must be a form"));
            }
            Ok(format) if known.contains(&format) => {
                return Err(AppError::field(field(), "must not come twice"));
            }
            Ok(format) => known.push(format),
        }
    }
    Ok(known)
}

/// The outlook of each departure, with the plan it was computed from.
pub(super) type Outlooks = moka::sync::Cache<String, Arc<(Shared<Stated>, Shared<PlanOutlook>)>>;

/// The day of a moment in microseconds since 1970, UTC.
pub(super) fn day_of(micros: i64) -> Date {
    date_of_day(micros.div_euclid(24 * 3_600 * 1_000_000))
}

/// What is asked of the samples.
struct Asked {
    samples: u64,
    seed: u64,
    compare: bool,
    arrival: f64,
}

fn sampled(
    read: &Read,
    context: &Context,
    shop: &ShopPlan,
    asked: &Asked,
    steps: &Steps<v1::ComputeChanceResponse>,
) -> Result<v1::PlanChance, AppError> {
    let is_gone = || steps.is_closed();
    let tell = |_: SearchProgress| {};
    let watch = Watched::new(&is_gone, &tell, None);
    let order = working_order(shop, &watch)?;
    let order_by = order_by(shop, &order, asked.arrival)?;
    let message = |chance: &Chance, gains: &[Gain]| {
        message::chance_message(context, &read.record, shop, chance, &order_by, gains)
    };
    let mut count = SAMPLES_FIRST.min(asked.samples);
    loop {
        let options = chance_options(shop.ready_by_minute, count, asked.seed);
        let found = chance(&shop.plan, &order, &options, &watch)?;
        if count == asked.samples || watch.is_over() {
            let compared = if asked.compare {
                let changes = suggested_changes(&shop.plan, &found);
                let fewer = chance_options(shop.ready_by_minute, count.min(GAIN_SAMPLES_MAX), asked.seed);
                gains(&shop.plan, &order, &changes, &fewer, &watch)?
            } else {
                Vec::new()
            };
            return Ok(message(&found, &compared));
        }
        let step = v1::ComputeChanceResponse {
            chance: Some(message(&found, &[])),
            last: false,
        };
        drop(steps.try_send(Ok(step)));
        count = count.saturating_mul(4).min(asked.samples);
    }
}

/// Until when what is not ordered can be ordered; nothing when the plan is later than the departure.
fn order_by(shop: &ShopPlan, order: &[usize], arrival: f64) -> Result<Vec<OrderBy>, InvalidInput> {
    let model = shop.plan.project()?.compile()?;
    let schedule = follow(&model, order)?;
    if schedule.finish() > shop.ready_by_minute {
        return Ok(Vec::new());
    }
    let latest = latest_schedule(&model, &schedule, shop.ready_by_minute)?;
    order_by_dates(&shop.plan, &latest, Spread::BetaPert, arrival)
}
