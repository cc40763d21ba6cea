//! Defects.

use ostler_proto::v1;
use ostler_proto::v1::defect_service_server::DefectService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::app::Call;
use crate::app::kinds::Defects;
use crate::contract::Presence;

#[tonic::async_trait]
impl DefectService for Service {
    async fn get_defect(&self, request: Request<v1::GetDefectRequest>) -> Reply<v1::Defect> {
        self.get::<Defects>(request).await
    }

    async fn list_defects(&self, request: Request<v1::ListDefectsRequest>) -> Reply<v1::ListDefectsResponse> {
        self.list::<Defects, _>(request).await
    }

    async fn create_defect(&self, request: Request<v1::CreateDefectRequest>) -> Reply<v1::Defect> {
        self.create::<Defects, _>(request).await
    }

    async fn update_defect(&self, request: Request<v1::UpdateDefectRequest>) -> Reply<v1::Defect> {
        self.update::<Defects, _>(request).await
    }

    async fn delete_defect(&self, request: Request<v1::DeleteDefectRequest>) -> Reply<()> {
        self.delete::<Defects, _>(request).await
    }

    async fn accept_defect(&self, request: Request<v1::AcceptDefectRequest>) -> Reply<v1::Defect> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "AcceptDefectRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.accept_defect(&call, request).await)
    }

    async fn fix_defect(&self, request: Request<v1::FixDefectRequest>) -> Reply<v1::Defect> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            "FixDefectRequest",
            &request,
            &request.request_id,
            request.validate_only,
        );
        reply(self.app.fix_defect(&call, request).await)
    }
}
