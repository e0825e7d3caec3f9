//! The words: every visible text is a message of `en.ftl` and `es.ftl` behind one function, made by `build.rs`.
//!
//! Which language a function speaks is not among its arguments: some 1,800 calls in templates and texts would carry it along
//! and none would do anything with it but hand it on. It is scoped instead: around a request, or around work that is done
//! elsewhere for one. Outside of any scope it is English, as on the command line.

use std::future::Future;

include!(concat!(env!("OUT_DIR"), "/messages.rs"));

/// A language that the messages are written in.
#[derive(Clone, Copy, PartialEq, Eq, Hash, Debug)]
pub enum Lang {
    /// English.
    En,
    /// Spanish.
    Es,
    /// For tests: English made longer and accented.
    #[cfg(debug_assertions)]
    Long,
    /// For tests: the same from right to left.
    #[cfg(debug_assertions)]
    Leftwards,
}

/// The languages that people may choose, each by its own name.
pub const ALL: [(Lang, &str); 2] = [(Lang::En, "English"), (Lang::Es, "Español")];

impl Lang {
    /// Its tag (BCP 47), as pages carry it. A private one is nobody's.
    pub fn tag(self) -> &'static str {
        match self {
            Lang::En => "en",
            Lang::Es => "es",
            #[cfg(debug_assertions)]
            Lang::Long => "x-long",
            #[cfg(debug_assertions)]
            Lang::Leftwards => "x-left",
        }
    }

    /// The language of a tag, if it is one of these: `es`, or `es-MX`.
    pub fn named(tag: &str) -> Option<Lang> {
        #[cfg(debug_assertions)]
        if let Some(lang) = [Lang::Long, Lang::Leftwards].into_iter().find(|l| l.tag() == tag) {
            return Some(lang);
        }
        let main = tag.split('-').next().unwrap_or_default();
        ALL.into_iter().map(|(lang, _)| lang).find(|l| l.tag().eq_ignore_ascii_case(main))
    }

    /// The first language of an `Accept-Language` that is one of these, the best liked first (RFC 9110, 12.5.4).
    pub fn liked(header: &str) -> Option<Lang> {
        let one = |part: &str| {
            let mut words = part.split(';');
            let lang = Lang::named(words.next()?.trim())?;
            let weight =
                words.find_map(|w| w.trim().strip_prefix("q=")).map_or(Some(1.0), |q| q.parse::<f32>().ok())?;
            (weight > 0.0).then_some((lang, weight))
        };
        let mut best: Option<(Lang, f32)> = None;
        for (lang, weight) in header.split(',').take(20).filter_map(one) {
            if best.is_none_or(|b| weight > b.1) {
                best = Some((lang, weight));
            }
        }
        best.map(|b| b.0)
    }

    /// Which way it is written, as pages say it.
    pub fn direction(self) -> &'static str {
        match self {
            #[cfg(debug_assertions)]
            Lang::Leftwards => "rtl",
            _ => "ltr",
        }
    }
}

tokio::task_local! {
    static SPOKEN: Lang;
}

/// The language in force.
pub fn spoken() -> Lang {
    SPOKEN.try_with(|l| *l).unwrap_or(Lang::En)
}

/// Works in a language.
pub fn within<T>(lang: Lang, work: impl FnOnce() -> T) -> T {
    SPOKEN.sync_scope(lang, work)
}

/// The same of a future.
pub fn during<F: Future>(lang: Lang, work: F) -> impl Future<Output = F::Output> {
    SPOKEN.scope(lang, work)
}

/// Work that is done on another thread, in the language that is in force here.
pub fn carried<T>(work: impl FnOnce() -> T) -> impl FnOnce() -> T {
    let lang = spoken();
    move || within(lang, work)
}
