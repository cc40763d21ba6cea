//! Verdicts that are at hand before anybody asks for them, whoever changed the record.
//!
//! What follows from a change of this server is computed at once where somebody asks (`ahead`). Of what others change a server
//! hears nothing, and one that was just started knows nothing at all. So the record is looked at a few times a second, and what was asked
//! for lately is computed again where it no longer holds; and beside it what is likely to be asked for, the departures that come next.

use std::time::Duration;

use ostler_core::record::{Date, Name};
use ostler_store::List;
use tokio::time::{Instant, sleep};

use super::ahead::Question;
use super::backing::Backing;
use super::kinds::{Departures, Fleets, Kind as _};
use super::stored::decode;
use super::unit::Unit;
use super::written::Written;
use super::{App, AppError};
use crate::contract;
use crate::convert::readiness::Detail;

/// Pause between two looks at the record.
const PAUSE: Duration = Duration::from_millis(100);

/// The pause is at least as many times what the look before it took: whatever others write, and however large the record is, it looks
/// for a tenth of the time at the most, but for departures that this server writes, which are looked at once.
const REST: u32 = 9;

/// Pause between two looks at which departures there are.
const DEPARTURES_PAUSE: Duration = Duration::from_secs(1);

/// Most departures that nobody has asked about whose verdicts are at hand: those that come next.
const TO_COME_MAX: usize = 4;

/// Most fleets of a server that looks which of their departures come next. One that serves more waits to be asked.
const FLEETS_MAX: u32 = 16;

/// Most departures of a fleet that are looked at.
const DEPARTURES_MAX: u32 = 200;

/// Keeps verdicts at hand until the server is being stopped.
pub async fn keep_looking(app: App) {
    // Before the first call, which would read it otherwise. What goes wrong with it is told to that call.
    drop(tokio::task::spawn_blocking(contract::prepare).await);
    tokio::select! {
        () = look_for_ever(&app) => {}
        () = app.until_stopping() => {}
    }
}

async fn look_for_ever(app: &App) {
    let mut to_come = Vec::new();
    let mut listed: Option<Instant> = None;
    loop {
        let began = Instant::now();
        if listed.is_none_or(|listed| listed.elapsed() >= DEPARTURES_PAUSE) {
            listed = Some(began);
            // A database that cannot be read is told to whoever calls.
            to_come = app.departures_to_come().await.unwrap_or(to_come);
        }
        app.look(&to_come).await;
        tokio::select! {
            () = sleep(PAUSE.max(began.elapsed() * REST)) => {}
            () = app.new_departures.notified() => listed = None,
        }
    }
}

impl Unit {
    /// Whether departures may be among what it has written: they are, or it is much.
    pub(super) fn brings_departures(&self) -> bool {
        let is_departure =
            |written: &Written| matches!(written, Written::New(row) if row.kind == Departures::WORD);
        match &self.backing {
            Backing::Copy(_) => false,
            Backing::Database(writing) => {
                let written = writing.written();
                written.is_none_or(|written| written.iter().any(is_departure))
            }
        }
    }
}

impl App {
    /// Has the verdicts that were asked for lately, and those of the departures `to_come`, kept as the record is now.
    async fn look(&self, to_come: &[Name]) {
        // What this server changes is followed by itself.
        let Some(asked) = self.ahead.asked_lately() else {
            return;
        };
        let to_come = to_come
            .iter()
            .map(|departure| (departure.to_string(), String::new()));
        let unasked: Vec<Question> = to_come.filter(|question| !asked.contains(question)).collect();
        for question in unasked {
            // What cannot be computed is told to whoever asks.
            drop(self.keep_at_hand(question).await);
        }
        for question in asked {
            if self.keep_at_hand(question.clone()).await.is_err() {
                self.ahead.forget(&question);
            }
        }
    }

    /// Has an answer kept, shortest and whole, as it is sent.
    async fn keep_at_hand(&self, (departure, vehicle): Question) -> Result<(), AppError> {
        let answers = self.keep_readiness(&(departure, vehicle, self.today())).await?;
        for detail in [Detail::Verdicts, Detail::Whole] {
            answers.as_sent(detail)?;
        }
        Ok(())
    }

    /// The departures that come next, of all fleets.
    ///
    /// # Errors
    /// When the database cannot be read.
    async fn departures_to_come(&self) -> Result<Vec<Name>, AppError> {
        let fleets = List {
            kind: Fleets::WORD,
            parent: None,
            after: None,
            limit: FLEETS_MAX + 1,
        };
        let fleets = self.store.list(&fleets).await?;
        if fleets.len() > FLEETS_MAX as usize {
            return Ok(Vec::new());
        }
        let mut found = Vec::new();
        for fleet in fleets {
            let departures = List {
                kind: Departures::WORD,
                parent: Some(&fleet.name),
                after: None,
                limit: DEPARTURES_MAX,
            };
            for row in self.store.list(&departures).await? {
                let stored = decode::<Departures>(row);
                // One that cannot be read is told to whoever asks about it, and is in nobody's way here.
                if let Ok(departure) =
                    stored.and_then(|stored| Ok(Departures::record(stored.name, stored.message)?))
                {
                    found.push((departure.departure_date, departure.name));
                }
            }
        }
        Ok(next_to_come(found, self.today()))
    }
}

/// Of departures with their dates those that come next.
fn next_to_come(mut departures: Vec<(Date, Name)>, today: Date) -> Vec<Name> {
    departures.retain(|(date, _)| *date >= today);
    departures.sort_unstable();
    departures.truncate(TO_COME_MAX);
    departures.into_iter().map(|(_, name)| name).collect()
}

#[cfg(test)]
mod tests {
    use std::sync::Arc;

    use futures_util::FutureExt as _;
    use ostler_proto::v1;
    use ostler_store::NewRow;
    use tokio::time::timeout;

    use super::*;
    use crate::app::readiness::Answers;
    use crate::app::tests::demo::{DemoApp, call, departure, weigh_cargo};

    /// Waits until a verdict other than that of `version` is kept, without asking for it.
    async fn next_kept(demo: &DemoApp, app: &App, version: &str) -> Arc<Answers> {
        let kept = async {
            loop {
                match demo.kept_by(app).await {
                    Some(answers) if answers.version != version => return answers,
                    _ => sleep(Duration::from_millis(2)).await,
                }
            }
        };
        timeout(Duration::from_secs(60), kept).await.unwrap()
    }

    async fn change(app: &App, mass_kg: f64) {
        app.write(&call(), async |unit: &mut Unit| weigh_cargo(unit, mass_kg).await)
            .await
            .unwrap();
    }

    /// By one that was just started, and of which nobody ever asks.
    #[tokio::test(flavor = "multi_thread")]
    async fn what_others_change_is_at_hand() {
        let demo = DemoApp::new().await;
        let other = demo.another();
        let looking = tokio::spawn(keep_looking(other.clone()));
        let mut version = String::new();
        for mass_kg in [31.0, 700.0] {
            let kept = next_kept(&demo, &other, &version).await;
            let anew = demo.another().readiness_of(demo.asked()).await.unwrap();
            assert_eq!(kept.version, anew.version);
            assert_eq!(kept.message(Detail::Whole), anew.message(Detail::Whole));
            version.clone_from(&kept.version);
            change(&demo.app, mass_kg).await;
        }
        next_kept(&demo, &other, &version).await;
        demo.stop();
        timeout(Duration::from_secs(60), looking).await.unwrap().unwrap();
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn what_was_asked_for_is_at_hand_again() {
        let demo = DemoApp::new().await;
        let other = demo.another();
        let version = other.readiness_of(demo.asked()).await.unwrap().version.clone();
        change(&demo.app, 31.0).await;
        assert!(demo.kept_by(&other).await.is_none());
        other.look(&[]).await;
        let kept = demo.kept_by(&other).await.unwrap();
        assert_ne!(kept.version, version);
        // What has no answer is let go; what nobody asked for was not computed for that.
        let nothing = ("fleets/orrin/departures/none".to_owned(), String::new());
        other.ahead.note_asked(|| nothing.clone(), true);
        other.look(&[]).await;
        assert!(!other.ahead.asked_lately().unwrap().contains(&nothing));
        let nobody_asked = demo.another();
        nobody_asked.look(&[]).await;
        assert!(demo.kept_by(&nobody_asked).await.is_none());
        nobody_asked.look(&[departure()]).await;
        assert!(demo.kept_by(&nobody_asked).await.is_some());
    }

    /// Who looks out need not wait for his next look to hear of those that are written here.
    #[tokio::test]
    async fn departures_that_are_written_are_told() {
        let demo = DemoApp::new().await;
        let app = &demo.app;
        let is_told = || app.new_departures.notified().now_or_never().is_some();
        assert!(is_told(), "a whole fleet was brought in");
        change(app, 31.0).await;
        assert!(!is_told());
        let stored = app.stored::<Departures>(&departure()).await.unwrap();
        let again = v1::Departure {
            name: String::new(),
            ..stored.message
        };
        let parent = departure().fleet().to_string();
        let created = app
            .create::<Departures>(&call(), &parent, "again", Some(again))
            .await;
        created.unwrap();
        assert!(is_told());
    }

    #[tokio::test(flavor = "multi_thread")]
    async fn the_departures_that_come_next_are_found() {
        let demo = DemoApp::new().await;
        let app = &demo.app;
        assert_eq!(app.departures_to_come().await.unwrap(), [departure()]);
        // One that cannot be read.
        let fleet = departure().fleet();
        let name = format!("{fleet}/departures/broken");
        let broken = NewRow {
            name: &name,
            kind: Departures::WORD,
            parent: Some(&*fleet),
            scope: &name,
            body: b"\xff",
            time: 1,
        };
        let mut transaction = app.store.begin().await.unwrap();
        transaction.insert(&broken).await.unwrap();
        transaction.commit().await.unwrap();
        for number in 1..=FLEETS_MAX {
            assert_eq!(app.departures_to_come().await.unwrap(), [departure()]);
            let fleet = v1::Fleet {
                display_name: format!("fleet {number}"),
                ..v1::Fleet::default()
            };
            let id = format!("fleet-{number}");
            app.create::<Fleets>(&call(), "", &id, Some(fleet)).await.unwrap();
        }
        // One more than are looked through.
        assert_eq!(app.departures_to_come().await.unwrap(), []);
    }

    #[test]
    fn those_that_are_over_do_not_come() {
        let today: Date = "2027-05-24".parse().unwrap();
        let on = |date: &str, id: &str| {
            let name = Name::new(format!("fleets/f/departures/{id}")).unwrap();
            (date.parse::<Date>().unwrap(), name)
        };
        let departures = vec![
            on("2027-09-01", "e"),
            on("2027-05-23", "over"),
            on("2027-06-01", "c"),
            on("2027-05-24", "today"),
            on("2027-06-01", "b"),
            on("2028-01-01", "f"),
        ];
        let ids = next_to_come(departures, today)
            .into_iter()
            .map(|name| name.id().to_owned());
        assert_eq!(ids.collect::<Vec<_>>(), ["today", "b", "c", "e"]);
    }
}
