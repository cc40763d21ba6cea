//! The standard methods over gRPC, once for all kinds of resources.

use prost::Message;
use prost_reflect::ReflectMessage;
use tonic::{Request, Response};

use super::{Reply, Service, status};
use crate::access::Caller;
use crate::app::kinds::Kind;
use crate::app::requests::{Create, Delete, Get, List, Update};
use crate::app::scope::fleet_named;
use crate::app::standard::ListCall;
use crate::app::{AppError, Call};
use crate::contract::{self, Presence};
use crate::traces;

/// Turns the outcome of a use case into a reply.
pub(super) fn reply<T>(outcome: Result<T, AppError>) -> Reply<T> {
    outcome.map(Response::new).map_err(status::of)
}

impl Service {
    /// Takes a request apart: who calls and, checked against the contract and the caller's scope, with what.
    pub(super) async fn open<R: ReflectMessage>(
        &self,
        request: Request<R>,
        presence: Presence,
    ) -> Result<(Caller, R), tonic::Status> {
        let caller = Caller::of(&request);
        let request = request.into_inner();
        contract::check(&request, presence).map_err(|refused| status::of(AppError::Invalid(refused)))?;
        traces::note_fleet(|| fleet_named(&request));
        let within = self.app.within_scope(&caller.actor.scope, &request).await;
        within.map_err(status::of)?;
        Ok((caller, request))
    }

    pub(super) async fn get<K: Kind>(
        &self,
        request: Request<impl Get<K> + ReflectMessage>,
    ) -> Reply<K::Message> {
        let (_, request) = self.open(request, Presence::Full).await?;
        reply(self.app.get::<K>(request.name()).await)
    }

    pub(super) async fn list<K: Kind, R: List<K> + ReflectMessage>(
        &self,
        request: Request<R>,
    ) -> Reply<R::Response> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = ListCall {
            scope: &caller.actor.scope,
            parent: request.parent(),
            page_size: request.page_size(),
            page_token: request.page_token(),
            filter: request.filter(),
        };
        reply(self.app.list::<K>(call).await.map(R::response))
    }

    pub(super) async fn create<K: Kind, R: Create<K> + ReflectMessage + Message>(
        &self,
        request: Request<R>,
    ) -> Reply<K::Message> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            R::METHOD,
            &request,
            request.request_id(),
            request.validate_only(),
        );
        let (parent, id) = (request.parent().to_owned(), request.id().to_owned());
        reply(
            self.app
                .create::<K>(&call, &parent, &id, request.resource())
                .await,
        )
    }

    pub(super) async fn update<K: Kind, R: Update<K> + ReflectMessage + Message>(
        &self,
        request: Request<R>,
    ) -> Reply<K::Message> {
        let (caller, request) = self.open(request, Presence::Top).await?;
        let call = Call::new(
            &caller.actor,
            R::METHOD,
            &request,
            request.request_id(),
            request.validate_only(),
        );
        let mask = request.update_mask().map(|mask| mask.paths.clone());
        reply(
            self.app
                .update::<K>(&call, request.resource(), mask.as_deref())
                .await,
        )
    }

    pub(super) async fn delete<K: Kind, R: Delete<K> + ReflectMessage + Message>(
        &self,
        request: Request<R>,
    ) -> Reply<()> {
        let (caller, request) = self.open(request, Presence::Full).await?;
        let call = Call::new(
            &caller.actor,
            R::METHOD,
            &request,
            request.request_id(),
            request.validate_only(),
        );
        reply(
            self.app
                .delete::<K>(&call, request.name(), request.etag(), request.force())
                .await,
        )
    }
}
