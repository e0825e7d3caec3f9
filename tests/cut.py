"""Takes defences out of a copy of the program, one after another, and looks whether the test that guards each of them fails. It
takes a build a round; for a day before a release, not for every run.

    cut.py [--target FOLDER]

SQLite alone; run from anywhere. What each line takes away stands in it as it is in the source: a cut that no longer fits says so. A target
folder named with --target should be no other's: cargo would take the program without its defences for the one here.
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))

# The source, what stands there, what stands there instead, the tests of which at least one must fail.
CUTS = [
    ("src/web/router.rs", "DefaultBodyLimit::max(BODY)", "DefaultBodyLimit::disable()", ["api::problems::bodies_are_checked"]),
    ("src/people/secret.rs", "if commonest::is_common(text) {", "if false && commonest::is_common(text) {", ["people::secrets::passwords"]),
    ("src/people/limits.rs", "0..=6 => (FIRST_MS << over).min(LONGEST_MS),", "0..=6 => 0,",
     ["people::guessing::a_password_is_locked", "people::guessing::a_pin_is_locked"]),
    ("src/web/proxies.rs", "if !by_proxy(last) {\n            break;\n        }", "_ = by_proxy(last);",
     ["people::guessing::only_a_named_proxy_says_who_asks"]),
    ("src/people/devices.rs", "set code = null, code_until = null, secret = $3", "set secret = $3",
     ["people::signing_in::a_device_is_enrolled_once_and_revoked"]),
    ("src/people/limits.rs", "now.since(begun) < ABSOLUTE_MS && now.since(seen) < idle_ms(how)", "begun <= now && seen <= now || how == ByHow::Pin",
     ["people::signing_in::a_sign_in_runs_out"]),
    ("src/web/auth.rs", "if reads.actor.role == Role::Inspector {", "if false && reads.actor.role == Role::Inspector {", ["routes::every_role_on_every_route"]),
    ("src/web/auth.rs", "let here = actors.into_iter().find(|a| a.site.as_ref().is_none_or(|own| *own == site));",
     "let here = actors.into_iter().next();", ["api::roles::shops_are_apart"]),
    ("src/web/service.rs", "Role::Probe if entries.iter().flat_map(|p| &p.bodies).all(its_own) => {}",
     "Role::Probe if entries.iter().flat_map(|p| &p.bodies).all(its_own) || true => {}", ["api::roles::every_role_on_every_route", "cold::probes"]),
    ("src/ledger/decide.rs", "if at > now.plus(AHEAD_MS) {", "if false && at > now.plus(AHEAD_MS) {", ["api::refusals::every_refusal_is_produced"]),
    ("src/people/sessions.rs", "exec!(conn, END, hash(secret))?;", "_ = (END, hash(secret), &conn);", ["people::signing_in::by_pin_and_by_name"]),
    ("src/people/sessions.rs", "exec!(conn, END_OF, person)?;", "_ = (END_OF, person, &conn);",
     ["people::managing::what_is_new_ends_what_was"]),
    ("src/web/router.rs", ".layer(CsrfLayer::new()", ".layer(CsrfLayer::new().with_insecure_bypass(|_, _| true)", ["api::problems::every_problem_is_produced"]),
    ("src/web/people.rs", '%person, "a PIN was wrong"', '%person, pin, "a PIN was wrong"', ["outside:logs.py"]),
    ("src/web/people.rs", 'tracing::warn!(person, from, "a password was wrong");', "", ["outside:logs.py"]),
    ("src/config.rs", "= text.split_once(\"://\") else {", "= text.split_once(\"://\").filter(|_| false) else {", ["config::passwords_are_never_printed"]),
    ("src/web/service.rs", "return Err(Fault::Broken(broken.clone()));", "_ = broken;", ["store::faults::a_ledger_that_was_changed"]),
]


def run(command, folder, **more):
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, **more)


def rounds(only):
    """Cuts of one file go into different rounds, so that each is seen by itself; so do those with the same test."""
    left = [c for c in CUTS if only in c[1]]
    while left:
        taken, files, tests = [], set(), set()
        for cut in left:
            if cut[0] not in files and not tests & set(cut[3]):
                taken.append(cut)
                files.add(cut[0])
                tests |= set(cut[3])
        yield taken
        left = [c for c in left if c not in taken]


def main():
    asked = argparse.ArgumentParser()
    asked.add_argument("--only", default="", help="cuts with this in what they take away")
    asked.add_argument("--target", default=None, help="a target folder to build in; a new one takes long")
    asked = asked.parse_args()
    folder = tempfile.mkdtemp(prefix="counterclock-cut-")
    env = {**os.environ, "COUNTERCLOCK_TEST_SQLITE_ONLY": "1", "RUST_BACKTRACE": "0", "CARGO_TARGET_DIR": asked.target or os.path.join(folder, "target")}
    wrong = 0
    try:
        source = os.path.join(folder, "source")
        subprocess.run(["git", "clone", "-q", os.path.join(HERE, ".."), source], check=True)
        for number, cuts in enumerate(rounds(asked.only), 1):
            subprocess.run(["git", "checkout", "-q", "."], cwd=source, check=True)
            for path, old, new, _ in cuts:
                with open(os.path.join(source, path)) as file:
                    text = file.read()
                if text.count(old) != 1:
                    raise SystemExit("%s: `%s` stands there %d times" % (path, old, text.count(old)))
                with open(os.path.join(source, path), "w") as file:
                    file.write(text.replace(old, new))
            built = run(["cargo", "test", "--locked", "--no-run", "--test", "it"], source, env=env)
            if built.returncode:
                raise SystemExit(built.stderr[-4000:])
            for path, old, _, tests in cuts:
                failed = []
                for test in tests:
                    if test.startswith("outside:"):
                        python = os.path.join(HERE, "outside", ".venv", "bin", "python")
                        script = os.path.join(HERE, "outside", test[8:])
                        done = run([python, script, os.path.join(env["CARGO_TARGET_DIR"], "debug", "counterclock")], os.path.join(HERE, "outside"), env=env)
                    else:
                        done = run(["cargo", "test", "--locked", "--test", "it", "--", test], source, env=env)
                        if not re.search(r"\d+ passed|\d+ failed", done.stdout) or "running 0 tests" in done.stdout:
                            raise SystemExit("%s runs nothing" % test)
                    if done.returncode:
                        failed.append(test)
                wrong += not failed
                print("round %d: %s without `%s`: %s" % (number, path, " ".join(old.split())[:70],
                                                       "fails: " + ", ".join(failed) if failed else "NOTHING FAILS"), flush=True)
    finally:
        shutil.rmtree(folder)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
