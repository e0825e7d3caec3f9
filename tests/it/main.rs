//! The tests of the rooms, in one binary so that they link once. The tree mirrors `src`.

#[macro_use]
mod kit;

mod ahead;
mod api;
mod clock;
mod cold;
mod config;
mod decisions;
mod demo;
mod exposure;
mod fuzz;
mod hand;
mod items;
mod languages;
mod ledger;
mod live;
mod marks;
mod mqtt;
mod notice;
mod openapi;
mod outage;
mod pages;
mod people;
mod properties;
mod record;
mod rooms;
mod routes;
mod rules;
mod shop;
mod store;
mod taps;
mod words;
