//! Readiness.

use ostler_proto::v1;
use ostler_proto::v1::readiness_service_server::ReadinessService;
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response};
use tracing::Instrument as _;

use super::standard::reply;
use super::{Reply, Service, Streamed, encoded, status};
use crate::contract::Presence;

#[tonic::async_trait]
impl ReadinessService for Service {
    type WatchReadinessStream = Streamed<v1::ReadinessChange>;

    async fn get_readiness(&self, request: Request<v1::GetReadinessRequest>) -> Reply<v1::Readiness> {
        let (_, request) = self.open(request, Presence::Full).await?;
        encoded::reply(self.app.get_readiness(request).await)
    }

    async fn watch_readiness(
        &self,
        request: Request<v1::WatchReadinessRequest>,
    ) -> Reply<Self::WatchReadinessStream> {
        let (_, request) = self.open(request, Presence::Full).await?;
        let (listener, changes) = tokio::sync::mpsc::channel(1);
        let app = self.app.clone();
        let work = async move {
            if let Err(error) = app.watch_readiness(request, &listener).await {
                // The caller may be gone; then nobody asks why it ended.
                drop(listener.send(Err(error)).await);
            }
        };
        tokio::spawn(work.in_current_span());
        let changes = ReceiverStream::new(changes).map(|change| change.map_err(status::of));
        Ok(Response::new(Box::pin(changes)))
    }

    async fn compare_readiness(
        &self,
        request: Request<v1::CompareReadinessRequest>,
    ) -> Reply<v1::CompareReadinessResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.compare_readiness(request).await)
    }

    async fn render_readiness_report(
        &self,
        request: Request<v1::RenderReadinessReportRequest>,
    ) -> Reply<v1::RenderedReport> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.render_readiness_report(request).await)
    }
}
