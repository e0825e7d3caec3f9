//! How often may be guessed, and how long a sign-in lasts. Pure arithmetic over what is stored.

use crate::clock::{HOUR_MS, Instant, MINUTE_MS};
use crate::ledger::ByHow;

/// What guesses are counted by. Wrong ones in a row: those of one person's PIN or password, and those made on one
/// device or from one address, whoever's.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A person's PIN.
    Pin,
    /// A person's password.
    Password,
    /// An enrolled device.
    Device,
    /// A client's address.
    Address,
}

impl What {
    /// As it is stored.
    pub fn word(self) -> &'static str {
        match self {
            What::Pin => "pin",
            What::Password => "password",
            What::Device => "device",
            What::Address => "address",
        }
    }

    /// Wrong guesses that cost nothing. NIST SP 800-63B asks for a limit and leaves the figures open below a hundred in
    /// a row; these are this project's choice. Several people share a device, and a whole shop may share an address.
    pub fn free(self) -> i64 {
        match self {
            What::Pin | What::Password => 5,
            What::Device => 20,
            What::Address => 50,
        }
    }
}

/// The first pause, doubled with each further wrong guess.
const FIRST_MS: i64 = MINUTE_MS;
/// The longest. An account is guessed at no more than some thirty times a day.
const LONGEST_MS: i64 = HOUR_MS;
/// Wrong guesses at a person's secret are forgotten this long after the last; nothing is kept longer.
pub const FORGET_MS: i64 = 24 * HOUR_MS;
/// Those of a device or an address, where others mistype too.
const FORGET_SHARED_MS: i64 = HOUR_MS;

/// The wrong guesses in a row, as they are stored.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tried {
    /// How many.
    pub failures: i64,
    /// When the last was.
    pub last_at: Instant,
    /// Not heard before this.
    pub until: Instant,
}

impl Tried {
    /// Until when nothing is heard, if that is still to come.
    pub fn locked(&self, now: Instant) -> Option<Instant> {
        (now < self.until).then_some(self.until)
    }

    /// With one more. Counted before the secret is looked at: of many that come at once no more are heard than of
    /// those that come one by one.
    pub fn another(self, what: What, now: Instant) -> Tried {
        let kept = match what {
            What::Pin | What::Password => FORGET_MS,
            What::Device | What::Address => FORGET_SHARED_MS,
        };
        let before = if now.since(self.last_at) > kept { 0 } else { self.failures };
        let failures = before + 1;
        let over = failures - what.free();
        let pause = match over {
            i64::MIN..0 => return Tried { failures, last_at: now, until: now },
            0..=6 => (FIRST_MS << over).min(LONGEST_MS),
            _ => LONGEST_MS,
        };
        Tried { failures, last_at: now, until: now.plus(pause) }
    }

    /// Without the last, which was right after all. A person's own are all forgiven; of a device's or an address's every
    /// other one, so that a day's slips of many fingers don't add up.
    pub fn forgiven(self, what: What) -> Tried {
        match what {
            What::Pin | What::Password => Tried::default(),
            What::Device | What::Address => {
                Tried { failures: (self.failures - 1).max(0) / 2, until: Instant::default(), ..self }
            }
        }
    }
}

/// How long someone is switched to by name alone after giving the PIN.
pub const BY_NAME_MS: i64 = 4 * HOUR_MS;
/// How long a device's code is good for.
pub const CODE_MS: i64 = HOUR_MS;
/// How long the set-up's address is good for.
pub const SET_UP_MS: i64 = 24 * HOUR_MS;
/// How long an inspector's link is good for, where nothing else is said.
pub const ACCESS_MS: i64 = 24 * HOUR_MS;
/// And at most.
pub const ACCESS_MOST_MS: i64 = 14 * 24 * HOUR_MS;
/// No sign-in outlasts a long shift.
pub const ABSOLUTE_MS: i64 = 12 * HOUR_MS;
/// A use is written down only when the last one was this long ago.
pub const SEEN_MS: i64 = MINUTE_MS;

/// How long a sign-in lasts without a page being opened or anything tapped.
pub fn idle_ms(how: ByHow) -> i64 {
    match how {
        // The bench's phone lies about between two cakes; whoever gave the PIN may be switched to by name as long.
        ByHow::Pin | ByHow::Name => BY_NAME_MS,
        ByHow::Password => HOUR_MS,
        ByHow::Token => ABSOLUTE_MS,
    }
}

/// Whether a sign-in still holds.
pub fn holds(how: ByHow, begun: Instant, seen: Instant, now: Instant) -> bool {
    now.since(begun) < ABSOLUTE_MS && now.since(seen) < idle_ms(how)
}
