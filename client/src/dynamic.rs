//! Calls by descriptor: one way to call the standard methods of every kind of record.

use prost::Message;
use prost_reflect::{DynamicMessage, MessageDescriptor, MethodDescriptor, Value};
use tonic::client::Grpc;
use tonic::codec::{Codec, DecodeBuf, Decoder, EncodeBuf, Encoder};
use tonic::codegen::http::uri::PathAndQuery;
use tonic::{Code, Status};

use crate::connection::{ANSWER_BYTES_MAX, Connection};
use crate::errors::CliError;

/// Calls `method` with `request`, a message of its input type.
///
/// # Errors
/// When the server refuses the call or does not answer.
pub(crate) async fn call(
    connection: &Connection,
    method: &MethodDescriptor,
    request: DynamicMessage,
) -> Result<DynamicMessage, CliError> {
    let path = format!("/{}/{}", method.parent_service().full_name(), method.name());
    let path: PathAndQuery = path.parse().map_err(|_| CliError::Answer {
        problem: format!("{path} is no method"),
    })?;
    connection
        .call(request, async |service, request| {
            let mut client = Grpc::new(service).max_decoding_message_size(ANSWER_BYTES_MAX);
            let not_ready =
                |error| Status::new(Code::Unavailable, format!("the connection is lost: {error}"));
            client.ready().await.map_err(not_ready)?;
            client
                .unary(
                    request,
                    path.clone(),
                    DynamicCodec {
                        answer: method.output(),
                    },
                )
                .await
        })
        .await
}

/// A request of `method` with `fields` set.
///
/// # Errors
/// When the method's input has no such field. That is a fault of this program.
pub(crate) fn request(
    method: &MethodDescriptor,
    fields: impl IntoIterator<Item = (impl AsRef<str>, Value)>,
) -> Result<DynamicMessage, CliError> {
    let mut message = DynamicMessage::new(method.input());
    for (field, value) in fields {
        message
            .try_set_field_by_name(field.as_ref(), value)
            .map_err(|error| CliError::Answer {
                problem: format!("{} does not take {}: {error}", method.name(), field.as_ref()),
            })?;
    }
    Ok(message)
}

/// Encodes and decodes messages that are known by their descriptors alone.
#[derive(Debug, Clone)]
struct DynamicCodec {
    answer: MessageDescriptor,
}

impl Codec for DynamicCodec {
    type Encode = DynamicMessage;
    type Decode = DynamicMessage;
    type Encoder = DynamicEncoder;
    type Decoder = DynamicDecoder;

    fn encoder(&mut self) -> Self::Encoder {
        DynamicEncoder
    }

    fn decoder(&mut self) -> Self::Decoder {
        DynamicDecoder {
            answer: self.answer.clone(),
        }
    }
}

#[derive(Debug)]
struct DynamicEncoder;

impl Encoder for DynamicEncoder {
    type Item = DynamicMessage;
    type Error = Status;

    fn encode(&mut self, item: DynamicMessage, buffer: &mut EncodeBuf<'_>) -> Result<(), Status> {
        item.encode(buffer)
            .map_err(|error| Status::internal(format!("the request cannot be encoded: {error}")))
    }
}

#[derive(Debug)]
struct DynamicDecoder {
    answer: MessageDescriptor,
}

impl Decoder for DynamicDecoder {
    type Item = DynamicMessage;
    type Error = Status;

    fn decode(&mut self, buffer: &mut DecodeBuf<'_>) -> Result<Option<DynamicMessage>, Status> {
        DynamicMessage::decode(self.answer.clone(), buffer)
            .map(Some)
            .map_err(|error| Status::internal(format!("the answer cannot be decoded: {error}")))
    }
}
