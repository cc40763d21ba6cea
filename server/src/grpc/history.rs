//! History.

use ostler_proto::v1;
use ostler_proto::v1::history_service_server::HistoryService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl HistoryService for Service {
    async fn list_history(&self, request: Request<v1::ListHistoryRequest>) -> Reply<v1::ListHistoryResponse> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        reply(self.app.list_history(&caller.actor.scope, request).await)
    }
}
