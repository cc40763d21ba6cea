//! Who calls, and whether they may: tokens, roles, one gate in front of every method but health. It stays beside a stream for
//! as long as that goes on.

mod ending;

use std::pin::Pin;
use std::sync::Arc;
use std::task::{Context, Poll};
use std::time::Duration;

use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use moka::sync::Cache;
use ostler_proto::v1::{ErrorReason, Role};
use ostler_store::{Store, StoreError, Token};
use rand::Rng as _;
use sha2::{Digest, Sha256};
use subtle::ConstantTimeEq as _;
use tonic::body::Body;
use tonic::{Code, Status};

use crate::app::scope::Scope;
use crate::app::{Actor, AppError};
use crate::clock::Clock;
use crate::contract;
use crate::grpc::status;
use crate::limits::{Held, Keeper, Limits, Refusals};
use crate::traces;
use ending::Ending;

/// How long a token that was looked up is taken as good, or not, without looking again.
const LOOKED_UP_FOR: Duration = Duration::from_secs(5);

/// Pause between two looks at the token of a stream, with one question for all streams of a token.
const STREAMS_LOOKED_AT_EVERY: Duration = Duration::from_millis(500);

/// How exactly the last use of a token is kept.
const LAST_USE_KEPT_TO: Duration = Duration::from_secs(60);

/// Path of the one service that needs no token.
const HEALTH: &str = "/grpc.health.v1.Health/";

/// Who calls.
#[derive(Debug, Clone, Default)]
pub struct Caller {
    /// The token, as far as use cases know it.
    pub actor: Actor,
}

impl Caller {
    /// The caller of a request, as the gate left it there.
    pub fn of<T>(request: &tonic::Request<T>) -> Self {
        request.extensions().get::<Self>().cloned().unwrap_or_default()
    }
}

/// A new secret: 256 random bits. Only its hash is ever stored.
pub fn new_secret() -> String {
    let mut bytes = [0_u8; 32];
    rand::rng().fill_bytes(&mut bytes);
    format!("ost_{}", URL_SAFE_NO_PAD.encode(bytes))
}

/// The hash under which a secret is stored.
pub fn hash(secret: &str) -> [u8; 32] {
    Sha256::digest(secret.as_bytes()).into()
}

/// The word of a role in storage and in commands.
pub fn role_word(role: Role) -> &'static str {
    match role {
        Role::Admin => "admin",
        Role::Lead => "lead",
        Role::Workshop => "workshop",
        Role::Reader => "reader",
        Role::Unspecified => "none",
    }
}

fn role_of(word: &str) -> Role {
    [Role::Admin, Role::Lead, Role::Workshop, Role::Reader]
        .into_iter()
        .find(|role| role_word(*role) == word)
        .unwrap_or(Role::Unspecified)
}

/// Decides over every call.
pub struct Gate {
    store: Store,
    clock: Arc<dyn Clock>,
    known: Cache<[u8; 32], Option<Arc<Known>>>,
    /// The same for streams, which are to end soon after their token.
    fresh: Cache<[u8; 32], Option<Arc<Known>>>,
    /// Tokens whose use was noted lately.
    noted: Cache<String, ()>,
}

/// A token that was looked up.
struct Known {
    token: Token,
    scope: Arc<Scope>,
}

impl Known {
    fn is_good(&self, now: i64) -> bool {
        let ended = |time: Option<i64>| time.is_some_and(|time| time <= now);
        !ended(self.token.expire_time) && !ended(self.token.revoke_time)
    }
}

/// A call that was let in.
struct Admitted {
    caller: Caller,
    hash: [u8; 32],
    known: Arc<Known>,
}

impl Gate {
    /// A gate over the tokens of `store`.
    pub fn new(store: Store, clock: Arc<dyn Clock>) -> Self {
        let known = Cache::builder()
            .max_capacity(10_000)
            .time_to_live(LOOKED_UP_FOR)
            .build();
        let fresh = Cache::builder()
            .max_capacity(10_000)
            .time_to_live(STREAMS_LOOKED_AT_EVERY / 2)
            .build();
        let noted = Cache::builder()
            .max_capacity(10_000)
            .time_to_live(LAST_USE_KEPT_TO)
            .build();
        Self {
            store,
            clock,
            known,
            fresh,
            noted,
        }
    }

    async fn admit(&self, path: &str, authorization: Option<&str>) -> Result<Option<Admitted>, Status> {
        if path.starts_with(HEALTH) {
            return Ok(None);
        }
        let secret = authorization
            .and_then(|value| value.strip_prefix("Bearer "))
            .ok_or_else(no_token)?;
        let hash = hash(secret);
        let known = self.look_up(hash).await?.ok_or_else(no_token)?;
        let token = &known.token;
        let now = self.clock.now_micros();
        if !known.is_good(now) {
            return Err(no_token());
        }
        self.note_use(&token.id, now);
        // What no method states, such as reflection, is open to every valid token.
        let needed = contract::access_role(path).unwrap_or(Role::Reader);
        let role = role_of(&token.role);
        if role < needed {
            return Err(status::role_too_weak(role, needed));
        }
        let actor = Actor {
            id: token.id.clone(),
            role,
            scope: known.scope.clone(),
        };
        Ok(Some(Admitted {
            caller: Caller { actor },
            hash,
            known,
        }))
    }

    /// Resolves when the token of a stream is no longer good.
    async fn until_ended(self: Arc<Self>, hash: [u8; 32], mut known: Arc<Known>) -> Status {
        loop {
            tokio::time::sleep(STREAMS_LOOKED_AT_EVERY).await;
            let found = match self.fresh.get(&hash) {
                Some(found) => Ok(found),
                None => self.read(hash).await,
            };
            match found {
                Ok(Some(found)) => known = found,
                Ok(None) => return no_token(),
                // A database that is away revokes nothing; what expires does so all the same.
                Err(_) => {}
            }
            if !known.is_good(self.clock.now_micros()) {
                return no_token();
            }
        }
    }

    /// Notes that a token was used, beside the call: a busy database holds no call up for it.
    fn note_use(&self, id: &str, now: i64) {
        if self.noted.contains_key(id) {
            return;
        }
        self.noted.insert(id.to_owned(), ());
        let (store, id) = (self.store.clone(), id.to_owned());
        tokio::spawn(async move {
            if let Err(error) = store.note_token_use(&id, now).await {
                tracing::debug!(
                    token = id,
                    error = status::chain(&error),
                    "the last use was not noted"
                );
            }
        });
    }

    async fn look_up(&self, hash: [u8; 32]) -> Result<Option<Arc<Known>>, Status> {
        match self.known.get(&hash) {
            Some(known) => Ok(known),
            None => self
                .read(hash)
                .await
                .map_err(|error| status::of(AppError::Storage(error))),
        }
    }

    /// The token as it is on record now.
    async fn read(&self, hash: [u8; 32]) -> Result<Option<Arc<Known>>, StoreError> {
        let found = self.store.token_by_hash(&hash).await?;
        let found = found
            .filter(|token| bool::from(token.hash.as_slice().ct_eq(&hash)))
            .map(|token| {
                let scope = Arc::new(Scope::of(&token));
                Arc::new(Known { token, scope })
            });
        self.known.insert(hash, found.clone());
        self.fresh.insert(hash, found.clone());
        Ok(found)
    }
}

fn no_token() -> Status {
    status::plain(
        Code::Unauthenticated,
        ErrorReason::TokenInvalid,
        "a valid token is needed: send it as `authorization: Bearer TOKEN`",
        &[],
    )
}

/// Puts a [`Gate`] in front of a service.
#[derive(Clone)]
pub struct AccessLayer {
    gate: Arc<Gate>,
    keeper: Arc<Keeper>,
}

impl AccessLayer {
    /// A layer with `gate`, which takes on what `limits` allow; `refusals` are those of the whole server.
    pub fn new(gate: Gate, limits: Limits, refusals: Refusals) -> Self {
        Self {
            gate: Arc::new(gate),
            keeper: Arc::new(Keeper::new(limits, refusals)),
        }
    }
}

impl<S> tower::Layer<S> for AccessLayer {
    type Service = Access<S>;

    fn layer(&self, inner: S) -> Access<S> {
        Access {
            gate: self.gate.clone(),
            keeper: self.keeper.clone(),
            inner,
        }
    }
}

/// A service behind a [`Gate`].
#[derive(Clone)]
pub struct Access<S> {
    gate: Arc<Gate>,
    keeper: Arc<Keeper>,
    inner: S,
}

impl<S, B> tower::Service<http::Request<B>> for Access<S>
where
    S: tower::Service<http::Request<B>, Response = http::Response<Body>> + Clone + Send + 'static,
    S::Future: Send,
    B: Send + 'static,
{
    type Response = http::Response<Body>;
    type Error = S::Error;
    type Future = Pin<Box<dyn Future<Output = Result<Self::Response, Self::Error>> + Send>>;

    fn poll_ready(&mut self, context: &mut Context<'_>) -> Poll<Result<(), Self::Error>> {
        self.inner.poll_ready(context)
    }

    fn call(&mut self, mut request: http::Request<B>) -> Self::Future {
        // The service that was polled ready is the one to call; its clone waits for the next call.
        let clone = self.inner.clone();
        let mut inner = std::mem::replace(&mut self.inner, clone);
        let (gate, keeper) = (self.gate.clone(), self.keeper.clone());
        Box::pin(async move {
            let authorization = request
                .headers()
                .get(http::header::AUTHORIZATION)
                .and_then(|value| value.to_str().ok())
                .map(str::to_owned);
            match gate.admit(request.uri().path(), authorization.as_deref()).await {
                Ok(None) => {
                    request.extensions_mut().insert(Caller::default());
                    inner.call(request).await
                }
                Ok(Some(admitted)) => {
                    let Admitted { caller, hash, known } = admitted;
                    traces::note_actor(&caller.actor.id);
                    let path = request.uri().path();
                    let is_stream = contract::is_stream(path);
                    let turn = match keeper.turn(&caller.actor.id, path).await {
                        Err(refused) => return Ok(refused.into_http()),
                        Ok(turn) => turn,
                    };
                    request.extensions_mut().insert(caller);
                    let response = inner.call(request).await?;
                    // The answer of a stream goes on after this: its turn ends with it, and it ends with its token.
                    Ok(response.map(|body| match is_stream {
                        true => {
                            let ended = gate.until_ended(hash, known);
                            Body::new(Held::new(Ending::new(body, ended), turn))
                        }
                        false => Body::new(Held::new(body, turn)),
                    }))
                }
                Err(refused) => Ok(refused.into_http()),
            }
        })
    }
}

/// Makes a token and returns its secret, which is shown once and stored nowhere.
///
/// # Errors
/// When the id is taken or the database fails.
pub async fn add_token(store: &Store, id: &str, role: Role, now_micros: i64) -> Result<String, StoreError> {
    let secret = new_secret();
    add_secret(store, id, role, &secret, now_micros).await?;
    Ok(secret)
}

/// What a token is limited to.
#[derive(Debug, Clone, Default)]
pub struct LimitedTo {
    /// Names of fleets; empty: all.
    pub fleets: Vec<String>,
    /// Names of vehicles; empty: all of these fleets.
    pub vehicles: Vec<String>,
    /// From when on it is no longer good, in microseconds since 1970, UTC; none: never.
    pub expire_time: Option<i64>,
}

/// Makes a token that is `limited_to` something and returns its secret, which is shown once and stored nowhere.
///
/// # Errors
/// When the id is taken or the database fails.
pub async fn add_limited_token(
    store: &Store,
    id: &str,
    role: Role,
    limited_to: LimitedTo,
    now_micros: i64,
) -> Result<String, StoreError> {
    let secret = new_secret();
    let token = Token {
        expire_time: limited_to.expire_time,
        fleets: limited_to.fleets,
        vehicles: limited_to.vehicles,
        ..new_token(id, role, &secret, now_micros)
    };
    store.add_token(&token).await?;
    Ok(secret)
}

fn new_token(id: &str, role: Role, secret: &str, now_micros: i64) -> Token {
    Token {
        id: id.to_owned(),
        hash: hash(secret).to_vec(),
        display_name: id.to_owned(),
        role: role_word(role).to_owned(),
        create_time: now_micros,
        expire_time: None,
        revoke_time: None,
        fleets: Vec::new(),
        vehicles: Vec::new(),
        last_use_time: None,
    }
}

/// Stores the hash of `secret` as the token `id`.
///
/// # Errors
/// When the id is taken or the database fails.
pub async fn add_secret(
    store: &Store,
    id: &str,
    role: Role,
    secret: &str,
    now_micros: i64,
) -> Result<(), StoreError> {
    store.add_token(&new_token(id, role, secret, now_micros)).await
}
