//! A message in the form in which it is sent, made once and given out many times.

use std::marker::PhantomData;

use prost::Message;
use prost::bytes::{BufMut as _, Bytes, BytesMut};

use super::AppError;

/// Bytes before a message: not compressed, and its length ("Length-Prefixed-Message" of gRPC over HTTP/2).
const PREFIX_BYTES: usize = 5;

/// A message in the form in which it is sent: what is kept and asked for often is not copied, encoded and dropped for each caller.
#[derive(Debug)]
pub struct Encoded<T> {
    framed: Bytes,
    message: PhantomData<fn() -> T>,
}

impl<T> Clone for Encoded<T> {
    fn clone(&self) -> Self {
        Self {
            framed: self.framed.clone(),
            message: PhantomData,
        }
    }
}

impl<T: Message + Default> Encoded<T> {
    /// `message` as it is sent.
    ///
    /// # Errors
    /// When it is longer than a message may be, 4 GiB.
    pub fn of(message: &T) -> Result<Self, AppError> {
        let length = message.encoded_len();
        let too_long = |source: Box<dyn std::error::Error + Send + Sync>| AppError::Corrupt {
            name: "an answer".to_owned(),
            source,
        };
        let prefix = u32::try_from(length).map_err(|error| too_long(Box::new(error)))?;
        let mut framed = BytesMut::with_capacity(PREFIX_BYTES + length);
        framed.put_u8(0);
        framed.put_u32(prefix);
        message
            .encode(&mut framed)
            .map_err(|error| too_long(Box::new(error)))?;
        Ok(Self {
            framed: framed.freeze(),
            message: PhantomData,
        })
    }

    /// The message.
    ///
    /// # Errors
    /// Never for one that was encoded here.
    pub fn message(&self) -> Result<T, AppError> {
        let bytes = self.framed.get(PREFIX_BYTES..).unwrap_or_default();
        T::decode(bytes).map_err(|error| AppError::Corrupt {
            name: "an answer".to_owned(),
            source: Box::new(error),
        })
    }

    /// It with its prefix.
    pub fn framed(self) -> Bytes {
        self.framed
    }
}
