//! Weighings.

use ostler_proto::v1;
use ostler_proto::v1::weighing_service_server::WeighingService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::Call;
use crate::app::kinds::Weighings;
use crate::contract::Presence;

#[tonic::async_trait]
impl WeighingService for Service {
    async fn get_weighing(&self, request: Request<v1::GetWeighingRequest>) -> Reply<v1::Weighing> {
        self.get::<Weighings>(request).await
    }

    async fn list_weighings(
        &self,
        request: Request<v1::ListWeighingsRequest>,
    ) -> Reply<v1::ListWeighingsResponse> {
        self.list::<Weighings, _>(request).await
    }

    async fn create_weighing(&self, request: Request<v1::CreateWeighingRequest>) -> Reply<v1::Weighing> {
        self.create::<Weighings, _>(request).await
    }

    async fn update_weighing(&self, request: Request<v1::UpdateWeighingRequest>) -> Reply<v1::Weighing> {
        self.update::<Weighings, _>(request).await
    }

    async fn delete_weighing(&self, request: Request<v1::DeleteWeighingRequest>) -> Reply<()> {
        self.delete::<Weighings, _>(request).await
    }

    async fn adopt_baseline(&self, request: Request<v1::AdoptBaselineRequest>) -> Reply<v1::Vehicle> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "AdoptBaselineRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.adopt_baseline(&call, request).await)
    }

    async fn calculate_reconciliation(
        &self,
        request: Request<v1::CalculateReconciliationRequest>,
    ) -> Reply<v1::Reconciliation> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.calculate_reconciliation(request))
    }

    async fn reconcile_weighing(
        &self,
        request: Request<v1::ReconcileWeighingRequest>,
    ) -> Reply<v1::Reconciliation> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.reconcile_weighing(request).await)
    }
}
