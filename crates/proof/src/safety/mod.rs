//! Electrical tests after a repair.
