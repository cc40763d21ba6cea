//! Calls of the API's methods by their request messages, and what a refusal says.

use std::collections::HashMap;

use ostler_proto::DESCRIPTOR_POOL;
use prost::Message;
use prost::bytes::{Buf, BufMut};
use prost_reflect::{DynamicMessage, MethodDescriptor, ReflectMessage};
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::metadata::{Ascii, MetadataValue};
use tonic::transport::Channel;
use tonic::{Code, Request, Status};
use tonic_types::StatusExt;

/// A caller of the API, with or without a token.
#[derive(Debug, Clone)]
pub struct Client {
    channel: Channel,
    secret: Option<String>,
}

impl Client {
    /// A caller over `channel` with the token `secret`.
    #[must_use]
    pub fn new(channel: Channel, secret: Option<String>) -> Self {
        Self { channel, secret }
    }

    /// Calls the method that takes `request`, and returns its answer.
    ///
    /// # Errors
    /// What the server answers.
    ///
    /// # Panics
    /// When no method takes such a request, or the answer is not one message.
    pub async fn ask<A: Message + Default>(&self, request: impl ReflectMessage) -> Result<A, Status> {
        let mut answers = self.ask_all(request).await?;
        assert_eq!(answers.len(), 1, "one answer");
        Ok(answers.swap_remove(0))
    }

    /// Calls the method that takes `request`, and returns all that it streams.
    ///
    /// # Errors
    /// What the server answers, also at the end of a stream.
    ///
    /// # Panics
    /// When no method takes such a request, or the answers are of another type.
    pub async fn ask_all<A: Message + Default>(
        &self,
        request: impl ReflectMessage,
    ) -> Result<Vec<A>, Status> {
        let method = method_of(&request);
        let answers = self.raw(&path(&method), request.encode_to_vec()).await?;
        let decode = |bytes: Vec<u8>| A::decode(&*bytes);
        Ok(answers
            .into_iter()
            .map(|bytes| decode(bytes).unwrap_or_else(|error| panic!("{}: {error}", method.full_name())))
            .collect())
    }

    /// As [`Client::ask`], for requests and answers without a type.
    ///
    /// # Errors
    /// What the server answers.
    ///
    /// # Panics
    /// When no method takes such a request, or the answer is not one message.
    pub async fn call(&self, request: &DynamicMessage) -> Result<DynamicMessage, Status> {
        let method = method_of(request);
        let answers = self.raw(&path(&method), request.encode_to_vec()).await?;
        let last = answers
            .last()
            .unwrap_or_else(|| panic!("{} answers nothing", method.full_name()));
        Ok(DynamicMessage::decode(method.output(), last.as_slice())
            .unwrap_or_else(|error| panic!("{}: {error}", method.full_name())))
    }

    /// Asks for the server's health.
    ///
    /// # Errors
    /// What the server answers.
    pub async fn health(&self) -> Result<(), Status> {
        self.raw("/grpc.health.v1.Health/Check", Vec::new())
            .await
            .map(drop)
    }

    /// The value of the `authorization` header. `None`: there is no token.
    ///
    /// # Panics
    /// When the token cannot be sent.
    #[must_use]
    pub fn bearer(&self) -> Option<MetadataValue<Ascii>> {
        let secret = self.secret.as_ref()?;
        let value = MetadataValue::try_from(format!("Bearer {secret}"));
        Some(value.unwrap_or_else(|error| panic!("not a token: {error}")))
    }

    /// Calls a method with an encoded message and returns all encoded answers. A method that does not stream is seen as one that
    /// streams one answer, which is the same on the wire; of one that never ends, `Watch…`, only the first is awaited.
    ///
    /// # Errors
    /// What the server answers.
    ///
    /// # Panics
    /// When the path or the token cannot be sent.
    pub async fn raw(&self, path: &str, message: Vec<u8>) -> Result<Vec<Vec<u8>>, Status> {
        let endless = path
            .rsplit('/')
            .next()
            .is_some_and(|method| method.starts_with("Watch"));
        let mut request = Request::new(message);
        if let Some(bearer) = self.bearer() {
            request.metadata_mut().insert("authorization", bearer);
        }
        let path: tonic::codegen::http::uri::PathAndQuery =
            path.parse().unwrap_or_else(|error| panic!("{path}: {error}"));
        let mut grpc = tonic::client::Grpc::new(self.channel.clone()).max_decoding_message_size(usize::MAX);
        grpc.ready()
            .await
            .map_err(|error| Status::unavailable(format!("no connection: {error}")))?;
        let mut stream = grpc.server_streaming(request, path, Bytes).await?.into_inner();
        let mut answers = Vec::new();
        while let Some(answer) = stream.message().await? {
            answers.push(answer);
            if endless {
                break;
            }
        }
        Ok(answers)
    }
}

/// Every method of the API.
pub fn methods() -> impl Iterator<Item = MethodDescriptor> {
    DESCRIPTOR_POOL
        .services()
        .filter(|service| service.full_name().starts_with("ostler."))
        .flat_map(|service| service.methods().collect::<Vec<_>>())
}

/// The method of that name, for example `GetVehicle`.
///
/// # Panics
/// When there is none.
#[must_use]
pub fn method(name: &str) -> MethodDescriptor {
    methods()
        .find(|method| method.name() == name)
        .unwrap_or_else(|| panic!("there is no method {name}"))
}

/// The path of a method in a call.
#[must_use]
pub fn path(method: &MethodDescriptor) -> String {
    format!("/{}/{}", method.parent_service().full_name(), method.name())
}

/// Each method has a request of its own.
fn method_of(request: &impl ReflectMessage) -> MethodDescriptor {
    let descriptor = request.descriptor();
    methods()
        .find(|method| method.input() == descriptor)
        .unwrap_or_else(|| panic!("no method takes {}", descriptor.full_name()))
}

/// What a refusal says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// Its code.
    pub code: Code,
    /// The reason of its `ErrorInfo`.
    pub reason: String,
    /// The metadata of its `ErrorInfo`.
    pub metadata: HashMap<String, String>,
    /// Its field violations: paths with descriptions.
    pub violations: Vec<(String, String)>,
    /// Its message.
    pub message: String,
}

impl Refusal {
    /// Takes a status apart.
    ///
    /// # Panics
    /// When it carries no `ErrorInfo` of this API, which every refusal must.
    #[must_use]
    pub fn of(status: &Status) -> Self {
        let details = status.get_error_details();
        let info = details
            .error_info()
            .unwrap_or_else(|| panic!("no ErrorInfo in {status:?}"));
        assert_eq!(info.domain, "ostler", "the domain of {status:?}");
        let violations = details.bad_request().map(|bad| {
            bad.field_violations
                .iter()
                .map(|violation| (violation.field.clone(), violation.description.clone()))
                .collect()
        });
        Self {
            code: status.code(),
            reason: info.reason.clone(),
            metadata: info.metadata.clone(),
            violations: violations.unwrap_or_default(),
            message: status.message().to_owned(),
        }
    }

    /// The fields that were refused.
    #[must_use]
    pub fn fields(&self) -> Vec<&str> {
        self.violations.iter().map(|(field, _)| field.as_str()).collect()
    }
}

/// Takes the refusal of a call apart.
///
/// # Panics
/// When the call was not refused, or not by this API.
#[track_caller]
pub fn refused<T: std::fmt::Debug>(outcome: Result<T, Status>) -> Refusal {
    match outcome {
        Ok(answer) => panic!("not refused: {answer:?}"),
        Err(status) => Refusal::of(&status),
    }
}

/// Messages as their bytes.
#[derive(Debug, Clone, Copy)]
struct Bytes;

impl Codec for Bytes {
    type Encode = Vec<u8>;
    type Decode = Vec<u8>;
    type Encoder = Self;
    type Decoder = Self;

    fn encoder(&mut self) -> Self {
        *self
    }

    fn decoder(&mut self) -> Self {
        *self
    }
}

impl Encoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn encode(&mut self, item: Vec<u8>, to: &mut EncodeBuf<'_>) -> Result<(), Status> {
        to.put_slice(&item);
        Ok(())
    }
}

impl Decoder for Bytes {
    type Item = Vec<u8>;
    type Error = Status;

    fn decode(&mut self, from: &mut DecodeBuf<'_>) -> Result<Option<Vec<u8>>, Status> {
        let mut bytes = vec![0; from.remaining()];
        from.copy_to_slice(&mut bytes);
        Ok(Some(bytes))
    }
}
