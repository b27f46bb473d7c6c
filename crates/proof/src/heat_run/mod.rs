//! Where logged temperatures are going.
