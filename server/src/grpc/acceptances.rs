//! Acceptances.

use ostler_proto::v1;
use ostler_proto::v1::acceptance_service_server::AcceptanceService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::Call;
use crate::app::kinds::Acceptances;
use crate::contract::Presence;

#[tonic::async_trait]
impl AcceptanceService for Service {
    async fn get_acceptance(&self, request: Request<v1::GetAcceptanceRequest>) -> Reply<v1::Acceptance> {
        self.get::<Acceptances>(request).await
    }

    async fn list_acceptances(
        &self,
        request: Request<v1::ListAcceptancesRequest>,
    ) -> Reply<v1::ListAcceptancesResponse> {
        self.list::<Acceptances, _>(request).await
    }

    async fn accept_finding(&self, request: Request<v1::AcceptFindingRequest>) -> Reply<v1::Acceptance> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "AcceptFindingRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.accept_finding(&call, request).await)
    }

    async fn delete_acceptance(&self, request: Request<v1::DeleteAcceptanceRequest>) -> Reply<()> {
        self.delete::<Acceptances, _>(request).await
    }
}
