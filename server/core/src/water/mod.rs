//! Water and food for people over the intervals between confirmed points.
