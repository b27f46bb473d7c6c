//! The bench on the web.
