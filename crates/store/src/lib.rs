//! Jobs kept safe.
