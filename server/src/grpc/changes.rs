//! Several changes at once.

use ostler_proto::v1;
use ostler_proto::v1::change_service_server::ChangeService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::Call;
use crate::contract::Presence;

#[tonic::async_trait]
impl ChangeService for Service {
    async fn assess_changes(
        &self,
        request: Request<v1::AssessChangesRequest>,
    ) -> Reply<v1::AssessChangesResponse> {
        let (caller, request) = self.open(request, Presence::Top).await?;
        reply(self.app.assess_changes(caller.actor, request).await)
    }

    async fn apply_changes(
        &self,
        request: Request<v1::ApplyChangesRequest>,
    ) -> Reply<v1::ApplyChangesResponse> {
        let (caller, request) = self.open(request, Presence::Top).await?;
        let call = Call::new(
            &caller.actor,
            "ApplyChangesRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.apply_changes(&call, request).await)
    }
}
