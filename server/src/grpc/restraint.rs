//! Restraint.

use ostler_proto::v1;
use ostler_proto::v1::restraint_service_server::RestraintService;
use tonic::Request;

use super::standard::reply;
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl RestraintService for Service {
    async fn assess_restraint(
        &self,
        request: Request<v1::AssessRestraintRequest>,
    ) -> Reply<v1::AssessRestraintResponse> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.assess_restraint(request).await)
    }
}
