//! What is on the screens by itself: the stream, and what time alone brings.

mod board;
mod due;
mod stream;
mod wire;
