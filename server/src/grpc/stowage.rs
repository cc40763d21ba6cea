//! Stowage.

use ostler_proto::v1;
use ostler_proto::v1::stowage_service_server::StowageService;
use tokio::sync::mpsc;
use tokio_stream::StreamExt;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response};
use tracing::Instrument as _;

use super::{Reply, STEPS_WAITING_MAX, Service, Streamed, status};
use crate::contract::Presence;

#[tonic::async_trait]
impl StowageService for Service {
    type ComputeStowageStream = Streamed<v1::ComputeStowageResponse>;

    async fn compute_stowage(
        &self,
        request: Request<v1::ComputeStowageRequest>,
    ) -> Reply<Self::ComputeStowageStream> {
        let (_, request) = self.open(request, Presence::Full).await?;
        let (steps, stream) = mpsc::channel(STEPS_WAITING_MAX);
        let app = self.app.clone();
        let work = async move {
            let stowage = app.compute_stowage(request, &steps).await;
            let last = stowage.map(|stowage| v1::ComputeStowageResponse {
                step: Some(v1::compute_stowage_response::Step::Stowage(stowage)),
            });
            // The caller may be gone; then nobody wants it.
            drop(steps.send(last).await);
        };
        tokio::spawn(work.in_current_span());
        let stream = ReceiverStream::new(stream).map(|step| step.map_err(status::of));
        Ok(Response::new(Box::pin(stream)))
    }
}
