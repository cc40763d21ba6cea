//! History.

use ostler_proto::v1;
use ostler_proto::v1::history_service_server::HistoryService;
use tokio_stream::StreamExt as _;
use tokio_stream::wrappers::ReceiverStream;
use tonic::{Request, Response};

use super::standard::reply;
use super::{Reply, Service, Streamed, status};
use crate::contract::Presence;

#[tonic::async_trait]
impl HistoryService for Service {
    type WatchHistoryStream = Streamed<v1::WatchHistoryResponse>;

    async fn list_history(&self, request: Request<v1::ListHistoryRequest>) -> Reply<v1::ListHistoryResponse> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        reply(self.app.list_history(&caller.actor.scope, request).await)
    }

    async fn watch_history(
        &self,
        request: Request<v1::WatchHistoryRequest>,
    ) -> Reply<Self::WatchHistoryStream> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let (listener, changes) = tokio::sync::mpsc::channel(1);
        let app = self.app.clone();
        tokio::spawn(async move {
            if let Err(error) = app.watch_history(&caller.actor.scope, request, &listener).await {
                // The caller may be gone; then nobody asks why it ended.
                drop(listener.send(Err(error)).await);
            }
        });
        let changes = ReceiverStream::new(changes).map(|change| change.map_err(status::of));
        Ok(Response::new(Box::pin(changes)))
    }

    async fn get_resource_at(&self, request: Request<v1::GetResourceAtRequest>) -> Reply<v1::ResourceState> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        reply(self.app.get_resource_at(&caller.actor.scope, request).await)
    }
}
