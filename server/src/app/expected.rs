//! Verdicts that are computed while the change they follow from is still being written.
//!
//! A commit waits for the disk. What it makes of the record is known before: the rows as they were read last, and in their place those that
//! the transaction has written. So the verdict is computed meanwhile. It is kept when the change is committed and the database, asked after
//! that, has the revisions that this change alone leads to: those of the record as it was read last, one higher for each scope that is
//! written to. Had anybody else written to one of these scopes, it would be higher still, for revisions only ever grow.

use std::sync::Arc;

use ostler_core::record::Name;
use tokio::task::JoinHandle;

use super::backing::Backing;
use super::kept_records::KeptRecord;
use super::readiness::{Asked, Assessed};
use super::record::scopes_of;
use super::revisions::{Anew, Revisions, Wants};
use super::unit::Unit;
use super::written::after;
use super::{App, AppError};

/// A verdict in the making.
pub(super) struct Expected {
    /// What it answers.
    pub(super) asked: Asked,
    /// Those of the record once it has changed.
    revisions: Revisions,
    computing: JoinHandle<Result<Computed, AppError>>,
}

/// A record and what was made of it.
struct Computed {
    record: Arc<KeptRecord>,
    assessed: Arc<Assessed>,
}

impl App {
    /// Begins to compute what the next change is computed for at once ([`super::ahead`]), as it will be when what `unit` has written is
    /// committed.
    pub(super) fn expect_of(&self, unit: &Unit) -> Vec<Expected> {
        let Backing::Database(writing) = &unit.backing else {
            return Vec::new();
        };
        let written = writing.written().unwrap_or_default();
        let whole = self
            .ahead
            .next()
            .into_iter()
            .filter(|(_, vehicle)| vehicle.is_empty());
        whole
            .filter_map(|(departure, vehicle)| {
                let name = Name::new(departure.clone()).ok()?;
                let before = self.records.get(&name)?;
                let anew = after(&before, written)?;
                Some(Expected {
                    asked: (departure, vehicle, self.today()),
                    revisions: anew.revisions.clone(),
                    computing: tokio::spawn(self.clone().compute_expected(name, before, anew)),
                })
            })
            .collect()
    }

    async fn compute_expected(
        self,
        name: Name,
        before: Arc<KeptRecord>,
        anew: Anew,
    ) -> Result<Computed, AppError> {
        let record = before.with(&name.fleet(), anew)?;
        let departure = record.record.departures.get(&name).cloned();
        // Of a scope that was not read before nothing is known.
        let departure = departure.filter(|departure| {
            let scopes = scopes_of(departure);
            scopes.len() == record.revisions.len()
                && scopes.iter().all(|scope| record.revisions.contains_key(scope))
        });
        let departure = departure.ok_or_else(|| AppError::NotFound {
            name: name.to_string(),
        })?;
        // Apart: the thread that is here carries the write on.
        let work = self.assessment(record.read(), departure, None).await?;
        let assessed = self.compute("readiness", work).await?;
        Ok(Computed {
            record: Arc::new(record),
            assessed: Arc::new(assessed),
        })
    }

    /// Keeps what was expected of a change that has been committed, if it has come to that; and says whether it has.
    ///
    /// # Errors
    /// When it cannot be computed, or the database cannot be read.
    pub(super) async fn keep_expected(&self, expected: Expected) -> Result<bool, AppError> {
        let Expected {
            asked,
            revisions,
            computing,
        } = expected;
        let seen = self.revisions.seen(revisions.clone(), Wants::Revisions).await?;
        if seen.revisions != revisions {
            return Ok(false);
        }
        let computed = |_| async {
            let computed = computing.await.map_err(|source| AppError::Corrupt {
                name: "the work".to_owned(),
                source: Box::new(source),
            })?;
            let Computed { record, assessed } = computed?;
            self.records.insert(assessed.departure.name.clone(), record);
            Ok((revisions, assessed))
        };
        let answers = |seen| async {
            let key = (asked.0.clone(), asked.2);
            let assessed = self
                .assessed
                .get_or(&key, &self.revisions, seen, computed)
                .await?;
            Ok((assessed.read.revisions.clone(), self.answers(&assessed)))
        };
        let kept = self
            .readiness
            .get_or(&asked, &self.revisions, Some(seen), answers);
        kept.await.map(|_| true)
    }
}

#[cfg(test)]
mod tests {
    use ostler_proto::v1;

    use super::*;
    use crate::app::Actor;
    use crate::app::backing::Writing;
    use crate::app::kinds::Departures;
    use crate::app::standard::update;
    use crate::app::tests::demo::{DemoApp, call, departure, weigh_cargo};
    use crate::convert::readiness::Detail;

    async fn unit(app: &App) -> Unit {
        let writing = Writing::in_transaction(app.store.begin().await.unwrap());
        Unit::on(Backing::Database(Box::new(writing)), Actor::default(), app)
    }

    /// Commits what was written, and says what was expected of it by `app`.
    async fn commit(app: &App, mut unit: Unit) -> Vec<Expected> {
        assert!(unit.write_all(&call(), &()).await.unwrap());
        let expected = app.expect_of(&unit);
        unit.commit().await.unwrap();
        expected
    }

    async fn weighed(app: &App, mass_kg: f64) -> Vec<Expected> {
        let mut unit = unit(app).await;
        weigh_cargo(&mut unit, mass_kg).await.unwrap();
        commit(app, unit).await
    }

    /// What is answered now, by whoever knows more or less of the record before.
    async fn assert_right(demo: &DemoApp) {
        let kept = demo.app.readiness_of(demo.asked()).await.unwrap();
        let anew = demo.another().readiness_of(demo.asked()).await.unwrap();
        assert_eq!(kept.version, anew.version);
        assert_eq!(kept.message(Detail::Whole), anew.message(Detail::Whole));
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn what_was_expected_is_kept() {
        let demo = DemoApp::new().await;
        let app = &demo.app;
        assert!(weighed(app, 31.0).await.is_empty(), "nobody has asked");
        let before = app.readiness_of(demo.asked()).await.unwrap();
        for mass_kg in [32.0, 700.0, 33.0] {
            let [expected] = weighed(app, mass_kg).await.try_into().ok().unwrap();
            assert!(
                demo.kept().await.is_none(),
                "nothing is kept before it is committed"
            );
            assert!(app.keep_expected(expected).await.unwrap());
            assert!(
                demo.kept()
                    .await
                    .is_some_and(|kept| kept.version != before.version)
            );
            assert_right(&demo).await;
        }
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn what_was_not_to_be_expected_is_computed() {
        let demo = DemoApp::new().await;
        let app = &demo.app;
        app.readiness_of(demo.asked()).await.unwrap();
        // Somebody else has written, of which nothing is known here.
        let other = demo.another();
        drop(weighed(&other, 500.0).await);
        let mut unknown = unit(app).await;
        let mut shorter: v1::Departure = unknown.get::<Departures>(&departure()).await.unwrap().message;
        shorter.name = departure().to_string();
        let left = shorter.vehicles.pop().unwrap().vehicle;
        shorter.crew.retain(|person| person.vehicle != left);
        weigh_cargo(&mut unknown, 34.0).await.unwrap();
        let [expected] = commit(app, unknown).await.try_into().ok().unwrap();
        assert!(!app.keep_expected(expected).await.unwrap());
        assert!(demo.kept().await.is_none());
        assert_right(&demo).await;
        // Fewer vehicles go: not the record that was read before.
        let mut unit = unit(app).await;
        let mask = ["vehicles", "crew"].map(str::to_owned);
        update::<Departures>(&mut unit, Some(shorter), Some(&mask))
            .await
            .unwrap();
        let [expected] = commit(app, unit).await.try_into().ok().unwrap();
        assert!(app.keep_expected(expected).await.is_err());
        assert!(demo.kept().await.is_none());
        assert_right(&demo).await;
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn what_is_not_committed_is_not_kept() {
        let demo = DemoApp::new().await;
        let app = &demo.app;
        app.readiness_of(demo.asked()).await.unwrap();
        let mut given_up = unit(app).await;
        weigh_cargo(&mut given_up, 500.0).await.unwrap();
        assert!(given_up.write_all(&call(), &()).await.unwrap());
        let expected = app.expect_of(&given_up);
        drop(given_up);
        for expected in expected {
            drop(expected.computing.await);
        }
        assert!(demo.kept().await.is_some());
        assert_right(&demo).await;
        // The next change has the revisions that this one would have had.
        drop(weighed(&demo.another(), 31.0).await);
        assert!(demo.kept().await.is_none());
        assert_right(&demo).await;
    }
}
