//! What is allowed: the rule book against its sources, published cases, vectors worked by hand, edges.

mod book;
mod edges;
mod published;
mod vectors;
