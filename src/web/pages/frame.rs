//! What stands around every page and is the same on each: written once here, since a template that is extended is compiled into
//! every page that extends it.

use super::Shell;
use crate::lang;
use askama::Template;

macro_rules! part {
    ($(#[$doc:meta])* $name:ident, $method:ident, $path:literal) => {
        #[derive(Template)]
        #[template(path = $path)]
        pub(super) struct $name<'a> {
            shell: &'a Shell,
        }

        impl Shell {
            $(#[$doc])*
            pub(super) fn $method(&self) -> $name<'_> {
                $name { shell: self }
            }
        }
    };
}

part!(/** Pictures and the style sheet. */ Links, links, "frame/links.html");
part!(/** The ways to the board and on from it. */ Nav, nav, "frame/nav.html");
part!(/** Whose page it is, and who looks. */ Who, who, "frame/who.html");
part!(/** What just happened, and what may be done about it. */ Told, told, "frame/notice.html");
part!(/** What the script says: taps that wait, screen readers' lines, figures that are old. */ States, states, "frame/states.html");
part!(/** Whose page it is, the other pages, languages, the cautions. */ Footer, footer, "frame/footer.html");
