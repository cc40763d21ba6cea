//! Substitutions.

use ostler_proto::v1;
use ostler_proto::v1::substitution_service_server::SubstitutionService;
use tonic::Request;

use super::standard::{open, reply};
use super::{Reply, Service};
use crate::app::Call;
use crate::app::kinds::Substitutions;
use crate::contract::Presence;

#[tonic::async_trait]
impl SubstitutionService for Service {
    async fn get_substitution(
        &self,
        request: Request<v1::GetSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        self.get::<Substitutions>(request).await
    }

    async fn list_substitutions(
        &self,
        request: Request<v1::ListSubstitutionsRequest>,
    ) -> Reply<v1::ListSubstitutionsResponse> {
        self.list::<Substitutions, _>(request).await
    }

    async fn update_substitution(
        &self,
        request: Request<v1::UpdateSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        self.update::<Substitutions, _>(request).await
    }

    async fn delete_substitution(&self, request: Request<v1::DeleteSubstitutionRequest>) -> Reply<()> {
        self.delete::<Substitutions, _>(request).await
    }

    async fn record_substitution(
        &self,
        request: Request<v1::RecordSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        let (caller, request) = open(request, Presence::Full)?;
        let call = Call::new(
            &caller.actor,
            "RecordSubstitutionRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.record_substitution(&call, request).await)
    }

    async fn fit_substitution(
        &self,
        request: Request<v1::FitSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        let (caller, request) = open(request, Presence::Full)?;
        let call = Call::new(
            &caller.actor,
            "FitSubstitutionRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.fit_substitution(&call, request).await)
    }

    async fn withdraw_substitution(
        &self,
        request: Request<v1::WithdrawSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        let (caller, request) = open(request, Presence::Full)?;
        let call = Call::new(
            &caller.actor,
            "WithdrawSubstitutionRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.withdraw_substitution(&call, request).await)
    }

    async fn assess_substitution(
        &self,
        request: Request<v1::AssessSubstitutionRequest>,
    ) -> Reply<v1::SubstitutionAssessment> {
        let (_, request) = open(request, Presence::Full)?;
        reply(self.app.assess_substitution(request).await)
    }
}
