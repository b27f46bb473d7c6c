//! What insulation bears.
