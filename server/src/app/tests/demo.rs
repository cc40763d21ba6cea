//! For tests: the use cases over a database of their own that holds the demo.

use std::sync::Arc;

use ostler_core::record::Name;
use ostler_proto::v1;
use ostler_sheet::Fonts;
use ostler_store::{Location, Store};
use tokio::sync::{mpsc, watch};

use crate::app::kinds::CargoItems;
use crate::app::readiness::{Answers, Asked};
use crate::app::standard::update;
use crate::app::unit::Unit;
use crate::app::{Actor, App, AppError, Call};
use crate::clock::SystemClock;
use crate::limits::Refusals;

/// The use cases, and what they stand on for as long as it is held.
pub(in crate::app) struct DemoApp {
    pub(in crate::app) app: App,
    _folder: tempfile::TempDir,
    stop: watch::Sender<bool>,
}

impl DemoApp {
    pub(in crate::app) async fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let location = Location::SqliteFile(folder.path().join("record.db"));
        let (stop, stopping) = watch::channel(false);
        let app = App::new(
            Store::open(&location, 0).await.unwrap(),
            Arc::new(SystemClock::default()),
            Arc::new(Fonts::built_in().unwrap()),
            stopping,
            Refusals::default(),
        );
        let (steps, _taken) = mpsc::channel(1_000);
        let demo = include_bytes!("../../../demo/orrin.yaml");
        app.import_fleet(&call(), demo, &steps).await.unwrap();
        Self {
            app,
            _folder: folder,
            stop,
        }
    }

    /// The same database, by somebody who knows nothing of it yet.
    pub(in crate::app) fn another(&self) -> App {
        App::new(
            self.app.store.clone(),
            self.app.clock.clone(),
            self.app.fonts.clone(),
            self.app.stopping.clone(),
            Refusals::default(),
        )
    }

    /// The verdict that is kept, if it still holds.
    pub(in crate::app) async fn kept(&self) -> Option<Arc<Answers>> {
        self.kept_by(&self.app).await
    }

    /// The verdict that `app` keeps, if it still holds.
    pub(in crate::app) async fn kept_by(&self, app: &App) -> Option<Arc<Answers>> {
        let nobody_computes = |_| std::future::ready(Err(AppError::Busy));
        let asked = self.asked();
        let kept = app
            .readiness
            .get_or(&asked, &app.revisions, None, nobody_computes);
        kept.await.ok()
    }

    /// Says that all is to end.
    pub(in crate::app) fn stop(&self) {
        self.stop.send_replace(true);
    }

    /// Whether its fleet is ready, today.
    pub(in crate::app) fn asked(&self) -> Asked {
        (departure().to_string(), String::new(), self.app.today())
    }
}

/// The departure of the demo.
pub(in crate::app) fn departure() -> Name {
    Name::new("fleets/orrin/departures/crossing-2027").unwrap()
}

/// A call that may write.
pub(in crate::app) fn call() -> Call {
    Call::new(&Actor::default(), "a test", &(), "", false)
}

/// A change: an item of cargo is `mass_kg` heavy.
///
/// # Errors
/// Those of the change.
pub(in crate::app) async fn weigh_cargo(unit: &mut Unit, mass_kg: f64) -> Result<v1::CargoItem, AppError> {
    let item = v1::CargoItem {
        name: "fleets/orrin/cargoItems/c001".to_owned(),
        unit_mass: Some(v1::Mass {
            mass_kg,
            ..v1::Mass::default()
        }),
        ..v1::CargoItem::default()
    };
    update::<CargoItems>(unit, Some(item), Some(&["unit_mass.mass_kg".to_owned()])).await
}
