//! Rule packs.

use ostler_proto::v1;
use ostler_proto::v1::rule_pack_service_server::RulePackService;
use tonic::Request;

use super::{Reply, Service};
use crate::app::kinds::RulePacks;

#[tonic::async_trait]
impl RulePackService for Service {
    async fn get_rule_pack(&self, request: Request<v1::GetRulePackRequest>) -> Reply<v1::RulePack> {
        self.get::<RulePacks>(request).await
    }

    async fn list_rule_packs(
        &self,
        request: Request<v1::ListRulePacksRequest>,
    ) -> Reply<v1::ListRulePacksResponse> {
        self.list::<RulePacks, _>(request).await
    }

    async fn create_rule_pack(&self, request: Request<v1::CreateRulePackRequest>) -> Reply<v1::RulePack> {
        self.create::<RulePacks, _>(request).await
    }

    async fn delete_rule_pack(&self, request: Request<v1::DeleteRulePackRequest>) -> Reply<()> {
        self.delete::<RulePacks, _>(request).await
    }
}
