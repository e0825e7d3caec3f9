//! The map of the rooms.
