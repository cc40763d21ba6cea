//! Readiness.

use ostler_proto::v1;
use ostler_proto::v1::readiness_service_server::ReadinessService;
use tonic::Request;

use super::standard::{open, reply};
use super::{Reply, Service};
use crate::contract::Presence;

#[tonic::async_trait]
impl ReadinessService for Service {
    async fn get_readiness(&self, request: Request<v1::GetReadinessRequest>) -> Reply<v1::Readiness> {
        let (_, request) = open(request, Presence::Full)?;
        reply(self.app.get_readiness(request).await)
    }
}
