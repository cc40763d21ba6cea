//! What operation looks like, measured: calls, how long they take, how they end. In the text form of OpenMetrics.

mod layer;
mod page;

use std::sync::Arc;

use ostler_store::Store;
use prometheus_client::collector::Collector;
use prometheus_client::encoding::{DescriptorEncoder, EncodeLabelSet, EncodeMetric as _};
use prometheus_client::metrics::MetricType;
use prometheus_client::metrics::counter::{ConstCounter, Counter};
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::{Histogram, exponential_buckets};
use prometheus_client::metrics::info::Info;
use prometheus_client::registry::{Registry, Unit};

pub(crate) use layer::MeasureLayer;
pub(crate) use page::serve;

use crate::release;

/// Name of what is no method of this API, so that strangers cannot make names up.
const OTHER: &str = "other";

/// How a call ended.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Ended {
    method: String,
    code: &'static str,
}

/// Which method.
#[derive(Debug, Clone, PartialEq, Eq, Hash, EncodeLabelSet)]
struct Of {
    method: String,
}

/// How reads from the standby ended: `used`, `differed` or `failed`. Nothing where there is no standby.
#[derive(Debug)]
struct StandbyReads(Store);

impl Collector for StandbyReads {
    fn encode(&self, mut encoder: DescriptorEncoder<'_>) -> Result<(), std::fmt::Error> {
        let Some(reads) = self.0.replica_reads() else {
            return Ok(());
        };
        let help = "Reads of whole records from the standby, by how they ended";
        let mut family = encoder.encode_descriptor("standby_reads", help, None, MetricType::Counter)?;
        for (outcome, count) in [
            ("used", reads.used),
            ("differed", reads.differed),
            ("failed", reads.failed),
        ] {
            let counter = ConstCounter::new(count);
            counter.encode(family.encode_family(&[("outcome", outcome)])?)?;
        }
        Ok(())
    }
}

/// The measurements of one server.
#[derive(Debug, Clone)]
pub(crate) struct Measurements {
    registry: Arc<Registry>,
    calls: Family<Ended, Counter>,
    seconds: Family<Of, Histogram>,
    in_flight: Gauge,
}

impl Measurements {
    /// Measurements of a server on `store`.
    pub(crate) fn new(store: Store) -> Self {
        let mut registry = Registry::with_prefix("ostlerd");
        let calls = Family::<Ended, Counter>::default();
        // 0.1 ms to about 26 s.
        let seconds = Family::<Of, Histogram>::new_with_constructor(|| {
            Histogram::new(exponential_buckets(0.0001, 4.0, 10))
        });
        let in_flight = Gauge::default();
        let build = Info::new(vec![
            ("version", release::VERSION),
            ("revision", release::REVISION),
        ]);
        registry.register("calls", "Calls by method and canonical code", calls.clone());
        registry.register_with_unit(
            "call",
            "Time from a call's arrival to the end of its answer",
            Unit::Seconds,
            seconds.clone(),
        );
        registry.register(
            "calls_in_flight",
            "Calls and streams that go on",
            in_flight.clone(),
        );
        registry.register_collector(Box::new(StandbyReads(store)));
        registry.register("build", "What was built", build);
        Self {
            registry: Arc::new(registry),
            calls,
            seconds,
            in_flight,
        }
    }

    /// All of them as text.
    fn text(&self) -> String {
        let mut text = String::new();
        if let Err(error) = prometheus_client::encoding::text::encode(&mut text, &self.registry) {
            tracing::error!(%error, "the measurements cannot be written");
        }
        text
    }
}
