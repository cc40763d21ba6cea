//! Use cases, one file per resource: load the record, call the core, write, keep history.
//!
//! Nothing here knows the transport. Access was decided before a call comes here (`access`).

pub mod acceptances;
mod ahead;
mod backing;
pub mod batch;
mod call;
pub mod cargo;
mod cargo_list;
pub mod changes;
pub mod check;
mod comparison;
pub mod defects;
pub mod driveline;
mod encoded;
pub mod error;
mod expected;
mod filter;
mod fleet_file;
pub mod fleets;
pub mod forgetting;
mod former_states;
pub mod fuel;
pub mod history;
mod history_watch;
pub mod issued_sheets;
pub mod jobs;
mod joint_check;
mod kept;
mod kept_records;
pub mod kind_table;
pub mod kinds;
pub mod loads;
pub mod long_work;
pub mod lookout;
mod page;
mod parsing;
mod parts;
pub mod pictures;
mod plans;
pub mod power;
pub mod readiness;
pub mod record;
mod references;
pub mod regulated_items;
mod reports;
pub mod requests;
mod restraint;
mod revisions;
pub mod scope;
pub mod sealing;
pub mod sheets;
pub mod spares;
pub mod stance;
pub mod standard;
pub mod stored;
pub mod stowage;
pub mod substitution_life;
mod substitutions;
pub mod tanks;
#[cfg(test)]
mod tests;
mod tyres;
pub mod unit;
mod watch;
pub mod water;
pub mod weighings;
mod written;

use std::sync::Arc;

use ostler_core::record::Date;
use ostler_proto::v1;
use ostler_sheet::Fonts;
use ostler_store::Store;
use tokio::sync::{Notify, watch as signal};

pub use call::{Actor, Call};
pub use encoded::Encoded;
pub use error::AppError;
pub(crate) use parsing::{cargo_list_reads, fleet_file_reads, page_token_reads, resume_token_reads};

use crate::clock::Clock;
use crate::limits::Refusals;
use ahead::Ahead;
use kept::Kept;
use long_work::Computing;
use revisions::RevisionReader;

/// The use cases over one store.
#[derive(Clone)]
pub struct App {
    store: Store,
    clock: Arc<dyn Clock>,
    revisions: RevisionReader,
    fonts: Arc<Fonts>,
    outlooks: plans::Outlooks,
    checked_packs: readiness::CheckedPacks,
    records: kept_records::KeptRecords,
    /// What is left of assessments, for the next.
    earlier: readiness::EarlierOf,
    assessed: Arc<Kept<(String, Date), Arc<readiness::Assessed>>>,
    readiness: Arc<Kept<readiness::Asked, Arc<readiness::Answers>>>,
    load_sheets: Arc<Kept<sheets::Asked, Vec<Encoded<v1::RenderedLoadSheet>>>>,
    /// Turns of what every call computes.
    computing: Arc<Computing>,
    /// What is computed before it is asked for again.
    ahead: Ahead,
    /// Told when this server may have written some, for who looks out for them.
    new_departures: Arc<Notify>,
    stopping: signal::Receiver<bool>,
}

impl App {
    /// The use cases over `store`, with the time from `clock` and pages set in `fonts`, until `stopping` is true; `refusals` are those of
    /// the whole server.
    pub fn new(
        store: Store,
        clock: Arc<dyn Clock>,
        fonts: Arc<Fonts>,
        stopping: signal::Receiver<bool>,
        refusals: Refusals,
    ) -> Self {
        Self {
            revisions: RevisionReader::new(store.clone()),
            store,
            clock,
            fonts,
            outlooks: plans::Outlooks::new(1_000),
            checked_packs: readiness::CheckedPacks::new(1_000),
            records: kept_records::KeptRecords::new(100),
            earlier: readiness::EarlierOf::most(100),
            assessed: Arc::new(Kept::most(100)),
            // Each in four forms, 150 KB together for the four vehicles of the demo.
            readiness: Arc::new(Kept::most(200)),
            load_sheets: Arc::new(Kept::most(100)),
            computing: Arc::new(Computing::new(refusals)),
            ahead: Ahead::default(),
            new_departures: Arc::default(),
            stopping,
        }
    }

    /// The store, for what is no use case: health, tokens, closing.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Waits until the server is being stopped: the end of what has no end of its own.
    async fn until_stopping(&self) {
        // Who would say so may be gone; then it has stopped.
        drop(self.stopping.clone().wait_for(|stopping| *stopping).await);
    }

    /// Microseconds since 1970, UTC.
    pub fn now_micros(&self) -> i64 {
        self.clock.now_micros()
    }
}
