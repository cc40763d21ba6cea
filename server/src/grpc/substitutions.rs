//! Substitutions.

use ostler_proto::v1;
use ostler_proto::v1::substitution_service_server::SubstitutionService;
use tonic::Request;

use super::standard::reply;
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
        let (caller, request) = self.open(request, Presence::Full).await?;
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
        let (caller, request) = self.open(request, Presence::Full).await?;
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
        let (caller, request) = self.open(request, Presence::Full).await?;
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
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.assess_substitution(request).await)
    }

    async fn keep_assessment(&self, request: Request<v1::KeepAssessmentRequest>) -> Reply<v1::Substitution> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "KeepAssessmentRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.keep_assessment(&call, request).await)
    }

    async fn settle_interface(
        &self,
        request: Request<v1::SettleInterfaceRequest>,
    ) -> Reply<v1::Substitution> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "SettleInterfaceRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.settle_interface(&call, request).await)
    }

    async fn approve_substitution(
        &self,
        request: Request<v1::ApproveSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "ApproveSubstitutionRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.approve_substitution(&call, request).await)
    }

    async fn prove_substitution(
        &self,
        request: Request<v1::ProveSubstitutionRequest>,
    ) -> Reply<v1::Substitution> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "ProveSubstitutionRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.prove_substitution(&call, request).await)
    }

    async fn undo_fitting(&self, request: Request<v1::UndoFittingRequest>) -> Reply<v1::Substitution> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "UndoFittingRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.undo_fitting(&call, request).await)
    }
}
