//! The words: every visible text is a message of `en.ftl` behind one function, made by `build.rs`.

include!(concat!(env!("OUT_DIR"), "/en.rs"));
