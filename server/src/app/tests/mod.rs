//! What tests of several files need.

pub(super) mod demo;
