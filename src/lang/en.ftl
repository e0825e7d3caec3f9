# Every visible text, in English. A function is made of each message; its arguments come in the order of the
# alphabet. An argument that chooses a plural is a number; all others are texts, formatted before they reach here.

## Times, spans, temperatures

date = { $weekday } { $day } { $month }
date-time = { $date }, { $time }
minutes = { $m } min
hours-minutes = { $h } h { $m } min
days-hours = { $d } days { $h } h
celsius = { $value } °C
fahrenheit = { $value } °F
decimal-sign = .
unit-c = °C
unit-f = °F
about = { $exact } (about { $about })
equals = { $exact } ({ $other })
monday = Mon
tuesday = Tue
wednesday = Wed
thursday = Thu
friday = Fri
saturday = Sat
sunday = Sun
january = Jan
february = Feb
march = Mar
april = Apr
may = May
june = Jun
july = Jul
august = Aug
september = Sep
october = Oct
november = Nov
december = Dec

## Around every page

product-name = Counterclock
skip = Skip to the content
to-board = Board
to-new = New item
to-other-person = is signed in; somebody else?
to-people = People
to-devices = Devices
signed-in = signed in as { $name }
as-of = As of { $time }
ask-again = Ask again
footer-guidance = Guidance only: your local code and licensed practice decide, not this page.
footer-unknown = The clock knows only what was recorded. It cannot know what nobody tapped in, how warm the food itself is without a reading, whether hands and tools were clean, or what grew before. Cooling or heating does not take back time that is used up, nor toxins.
asking = time reached, asking
stale = No answer from the server. These figures are as of { $time }. A discard time still stands; time left does not.
adrift = time left: not known without the server
language-of-paper = Language
undo = Undo
undo-reason = Taken back at once

## What just happened

done-moved = { $name }: { $place }, since { $time }.
done-begun = { $name } begun, { $time }.
done-joined = { $name } now counts what went into it.
done-read = { $name }: temperature recorded.
done-closed = { $name } closed, { $time }.
done-corrected = { $name } corrected.
done-marked = { $name }: marked “discard by { $time }”.
done-mixed = { $name } begun from both.
done-split = { $name } split off, with the same minutes.
done-scrapings = What was left of { $name } is back in the tub, with its minutes.
done-seen = { $name }: seen in { $place }.
done-undone = { $name }: taken back. It stays readable, struck out.
done-again = That tap had been recorded before. Check where { $name } is: its last entry is from { $time }.

## What went wrong

problem-title = That did not work
problem-on = Go on from here
fault-not-found = There is nothing at this address.
fault-not-found-next = Look for the item on the board; a closed one is in the log.
fault-forbidden = That is not yours to do.
fault-forbidden-next = Ask a manager.
fault-busy = Too many are waiting at once. Nothing was recorded.
fault-busy-next = Tap again in a moment.
fault-not-recorded = The database did not take it. Nothing was recorded.
fault-not-recorded-next = Tap again. If it stays so, write it on paper with the time and tell the manager.
fault-unknown = It is not known whether that was recorded.
fault-unknown-next = Look at the item's entries before you tap again.
fault-key = This page had been used for something else already. Nothing was recorded.
fault-key-next = This is the page as it stands now: tap again here.
fault-signed-out = You are not signed in.
fault-signed-out-next = Sign in, then do it again.
fault-unreadable = The address or the form cannot be read. Nothing was recorded.
fault-unreadable-next = Go back and try again from the page itself.
fault-large = That is more than a form holds. Nothing was recorded.
fault-given-up = That tap arrived after the device had given it up. Nothing was recorded by it.
fault-given-up-next = Nothing: the device sends it again with the time it was tapped.
form-unknown = There is no such form.
form-nothing-corrected = Say what it should be: another time, place or temperature.
form-bad-number = That is not a whole number.
form-pick-one = Touch the one that is meant.
form-pick-place = Touch the place that is meant.
form-two-counts = Touch a number or type one, not both.
form-how-many = Say how many.
form-leave-some = Some must be left here; if all of it goes, move it instead.
form-say-when = Say when it was.
form-say-why = Say why it was not tapped then.
form-bad-time = Write a time of the shop's clock, like 09:10. At a change of the clocks some times do not exist.

told-there = { $name } has been there since { $time }.
told-begun = { $name } began { $time }.
told-closed = { $name } was closed { $time }.
told-left = { $name }: { $n } left.
bad-text = A text has 1 to { $most } characters.
bad-count = A count is a whole number from 1 to 100000.

## Refusals and problems: what is wrong, and what to do next

refused-malformed-json = The text is not JSON.
    .next = Send one entry as a JSON object, or an array of them.
refused-unknown-kind = There is no such kind of entry.
    .next = Take a kind from the table of entries.
refused-unknown-member = The entry has a member its kind doesn't know.
    .next = Leave the member out or correct its name.
refused-doubled-member = A member stands twice in one object.
    .next = Send each member once.
refused-missing-member = A member is missing.
    .next = Add the member.
refused-bad-member = A member has a value it cannot have.
    .next = Correct the value.
refused-bad-id = That is not an id.
    .next = Use letters, digits, `.`, `_`, `-`, 1 to 40 of them.
refused-bad-time = That is not a time.
    .next = Send RFC 3339 with an offset, like 2026-05-02T15:20:00+02:00.
refused-bad-temperature = That is not a temperature of food or its surroundings.
    .next = Send a decimal with one digit after the point, and its unit.
refused-too-many = An array holds 1 to 500 entries.
    .next = Send the rest in another request.
refused-unknown-item = There is no such item.
    .next = Check the id, or begin the item first.
refused-unknown-place = There is no such place.
    .next = Check the id, or write the place first.
refused-unknown-rule = There is no such rule.
    .next = Take a rule from the rule book, or write the rule first.
refused-unknown-product = There is no such product.
    .next = Check the id, or write the product first.
refused-unknown-entry = There is no entry of that number.
    .next = Check the `seq`.
refused-id-used = That id is taken; ids never change meaning.
    .next = Choose another id.
refused-no-rule = The item would be under no rule at all.
    .next = Name a rule, or a product that has one.
refused-exempt-unclear = A product without rules needs a reason and evidence.
    .next = Name its rules, or say in `exempt` why it needs none.
refused-site-fixed = A site's zone never changes.
    .next = Change name or units only.
refused-place-fixed = A place's control and use never change.
    .next = Write a new place under a new id.
refused-rule-fixed = A rule's text never changes.
    .next = Write the new text under a new id.
refused-built-in = That id belongs to a built-in rule with other clauses.
    .next = Choose another id for the shop's own rule.
refused-before-beginning = That lies before the item's beginning.
    .next = Check the time, or correct the beginning.
refused-after-close = The item is closed by then.
    .next = Check the item and the time, or correct the close.
refused-parent-not-begun = What it is made from hasn't begun by then.
    .next = Check the time and the ids in `from`.
refused-parent-closed = What it is made from is closed by then.
    .next = Check the time and the ids in `from`.
refused-joined-to-itself = An item cannot be made from itself.
    .next = Check the ids in `from`.
refused-already-there = The item is there already.
    .next = Nothing is to be done, unless the time or the place is wrong.
refused-lapse-open = That place's lapse is still open.
    .next = End it with `restore` first.
refused-no-lapse = That place has no open lapse.
    .next = Check the place and the time.
refused-before-ledger = That lies long before the shop's ledger begins.
    .next = Check the clock it was told by.
refused-air-jump = No air changes so much within an hour.
    .next = Check the probe; where it is so, somebody who is signed in writes it down.
refused-no-control = That place has no temperature control to lose.
    .next = Name a cold or frozen place.
refused-bad-until = A lapse ends after it begins and not in the future.
    .next = Leave `until` out while it lasts.
refused-in-the-future = That is more than two minutes in the future.
    .next = Check the clock; record things when they happen.
refused-more-than-left = There aren't that many left.
    .next = Check the count.
refused-item-full = An item has at most 2,000 entries.
    .next = Close it and begin a new one made from it.
refused-too-many-parents = An item is made from at most 64 others.
    .next = Close it and begin a new one made from it.
refused-too-many-generations = That would be more than 32 generations.
    .next = Begin a fresh item.
refused-not-correctable = That cannot be corrected.
    .next = Correct the original entry; a rule takes a new id.
refused-upsets-another = With it, another entry would be refused.
    .next = Correct that other entry first, or both in one request.
refused-managers-only = Only a manager may write that.
    .next = Ask a manager.
problem-bad-query = The address has a parameter it cannot have.
    .next = Correct the parameter.
problem-bad-plan = That cannot be planned.
    .next = Correct the plan; planning writes nothing.
problem-malformed = The request cannot be read.
    .next = Check the request against the API's description.
problem-not-signed-in = Nobody is signed in.
    .next = Send a bearer token, or sign in.
problem-not-allowed = That isn't yours to do.
    .next = Ask a manager.
problem-cross-site = The request came from another site's page.
    .next = Send it from the shop's own page.
problem-not-found = The address names nothing.
    .next = Check the address.
problem-wrong-method = The address doesn't take that method.
    .next = Check the method against the API's description.
problem-too-large = The request is over 1 MiB.
    .next = Send fewer entries at a time.
problem-not-json = The request isn't marked as JSON.
    .next = Send it with `Content-Type: application/json`.
problem-another-person = These taps are somebody else's than whoever is signed in.
    .next = Sign in as whoever tapped, then they are sent.
problem-key-reused = That idempotency key came with another request before.
    .next = Use a new key for a new request.
problem-busy = Too many requests are waiting.
    .next = Send it again in a moment, with the same key.
problem-not-recorded = The database failed; nothing was recorded.
    .next = Send it again, with the same key.
problem-unknown-outcome = The database didn't answer; it may or may not be recorded.
    .next = Send it again, with the same idempotency key.

## Signing in

sign-out = Sign out
sign-in-title = Sign in
sign-in-name = Your name
sign-in-password = Your password
sign-in-go = Sign in
sign-in-enrol = This device has a code: enrol it
sign-in-token = With a token
sign-in-token-go = Sign in with the token
sign-in-hint = One is made with “counterclock token add”. Paste it as it is, on one line.
sign-in-not-enrolled = This device isn’t enrolled, so a PIN doesn’t work on it. Ask a manager for a code, or sign in with a password.
sign-in-locked = Too many wrong tries. Nothing more is heard until { $time }.
sign-in-locked-next = Wait until then; who has forgotten it asks a manager for a new one.
token-wrong = Nobody has that token.
token-wrong-next = Check that all of it was pasted, or ask a manager for another.
password-wrong = That name and password don’t go together.
password-wrong-next = Check both and try again. After five wrong tries there is a pause.
who-title = Who is it?
who-device = This device: { $device }.
who-by-name = no PIN until { $time }
who-by-pin = with PIN
who-password = With a password
who-nobody = Nobody here has a PIN yet. A manager gives one on the page “People”.
pin-title = PIN
pin-label = PIN
pin-hint = 4 to 6 digits
pin-keys = Digits
pin-back = Delete last
pin-other = Somebody else
pin-wrong = That is not the PIN.
pin-wrong-next = Try again. After five wrong tries there is a pause.
pin-shape = A PIN is 4 to 6 digits, 0 to 9, and nothing else. This was not tried.
pin-shape-next = Type it again.
enrol-title = Enrol this device
enrol-what = On an enrolled device the shop’s people sign in with a PIN. A manager makes the code on the page “Devices”; it works once, within an hour.
enrol-code = Code
enrol-hint = eight letters and digits
enrol-go = Enrol this device
enrol-unknown = There is no such code, or it was used, or it has run out.
enrol-unknown-next = Check it, or ask a manager for a new one.
enrol-locked = Too many wrong codes came from this address.
enrol-locked-next = Wait some minutes and try again.

## The written procedure: what it says

procedure-person = { $name } ({ $role })
procedure-of = { $about }: { $field }
procedure-shop = The shop
procedure-name = Name
procedure-rules = The rules
procedure-defers = Whose word comes first
procedure-words = The rule
procedure-source = Source
procedure-edition = Edition
procedure-section = Section
procedure-basis = What stands behind it
procedure-approved = Approved for use here
procedure-approved-on = { $date }
procedure-approved-by = { $date }: { $reference }
procedure-not-approved = Not yet approved by a manager, though its source is not a published one.
procedure-under = Foods under it
procedure-no-foods = None of the foods below; single items may be put under it.
procedure-foods = The foods
procedure-exempt = Needs no time control, because
procedure-its-rules = Rules
procedure-limit = Its limits
procedure-chill = Chilling
procedure-chill-how = Put into the cold, it counts as still out for { $minutes } min, or until its temperature is read at 5 °C or below.
procedure-clock = What starts the clock
procedure-starts-total = Every minute outside temperature control counts, all stretches added, from the first time it leaves the cold, or from its beginning where it begins outside it. In the cold the count stands still; it never goes back.
procedure-starts-since = One clock starts the first time it leaves the cold, or at its beginning where it begins outside it. It runs on in the cold, until the food is gone.
procedure-starts-spell = Each stretch outside temperature control is timed by itself, from leaving the cold until it is back; how many there were counts too.
procedure-starts-above = Time outside temperature control counts by itself while the air there is too warm.
procedure-starts-day = The day on which it was begun is day 1; days on which it was frozen throughout do not count.
procedure-starts-cooled = The cooling clock starts when it is begun outside temperature control, and ends at the first reading that is low enough.
procedure-starts-cooled-from = The cooling clock starts at the last reading before it falls below the rule’s upper temperature, and ends at the first reading that is low enough.
procedure-counted-in = Counted in places for { $uses }; time out where food is stored, as when a fridge fails, always counts.
procedure-handed-on = What is made from it
procedure-handed-on-how = What is made from a food, filled with it, split off it or mixed with it takes over its clock: the larger sum, the earlier first time out. Nothing starts a clock anew: neither chilling nor freezing, whipping again, heating or a new label.
procedure-places = Where food stands
procedure-place = { $control }, for { $what }
procedure-runs = Out of temperature control: the clock runs here.
procedure-stands = Under temperature control: time out is not counted here unless its cooling fails.
procedure-marks = How food is marked
procedure-mark = What the mark carries
procedure-mark-how = The food’s name, when it was made or opened, when it first left the cold, and by when it is to be discarded, with time and date. It is written by hand or printed, and recorded with the time it carries. The time that this record gives for a mark is never later than that of an earlier mark.
procedure-watch = How the temperature is watched
procedure-reads-start = The food’s temperature is read within the hour before it first leaves the cold; it is at most { $max }.
procedure-reads-food = The food’s warmest part is read while it is out. Over { $max } it is discarded.
procedure-reads-air = The air where it stands is read, against { $above }; a reading holds for four hours at most.
procedure-reads-cooled = The food is read while it cools, until it is down to { $to }: within { $max }.
procedure-unwatched = Temperature under the rules
procedure-unwatched-why = No rule in use asks for a reading of the food; the cold places are read as below.
procedure-discard = How it ends
procedure-ended = What is recorded
procedure-ended-how = When each food was served, sold, handed over or discarded, how many, and by whom.
procedure-wrong = When something goes wrong
procedure-people = The people
procedure-who = Who works with it
procedure-record = The record
procedure-recorded = How it is kept
procedure-recorded-how = Every move is recorded with when it happened, when it was written down and who did it. No entry is changed or removed: a correction is another entry, with its reason. Each entry carries a hash over the one before it, so that a change made afterwards shows.
procedure-review = Review

## The written procedure: what is to be filled in

procedure-owner = Owner
procedure-owner-hint = the person or company the licence is made out to
procedure-address = Address
procedure-address-hint = street, town, postcode
procedure-licence = Licence or registration number
procedure-licence-hint = as your authority writes it; “none issued” if there is none
procedure-trade = Kind of establishment
procedure-trade-hint = bakery, café, caterer, stall
procedure-in-charge = Who is in charge of this procedure
procedure-in-charge-hint = the post rather than a name: what is approved stays for ever
procedure-agreement = What the health authority has agreed to
procedure-agreement-hint = its name, what it agreed to, when, and where its letter is
procedure-ingredients = Ingredients
procedure-ingredients-hint = with flavourings, colours and what they are bought as
procedure-making = How it is made, with times
procedure-making-hint = from start to finish: each step, where, and how long it takes
procedure-cooling = How food is made cold before it stands out
procedure-cooling-hint = what is cooked, or mixed from things that were not cold; “all of it comes cold” if so
procedure-held = Where food stands while its clock runs, and how it is served
procedure-held-hint = on what, within whose reach, and how it gets to the customer
procedure-marking = On what the mark is, and where on the food
procedure-marking-hint = label, tape, card; and what happens to food without one
procedure-watching = How the food’s temperature is watched
procedure-watching-hint = who reads it, how often, with what, and where that is written
procedure-thermometers = Thermometers: which, and how they are checked
procedure-thermometers-hint = for food and for fridges; how, how often, and where that is written
procedure-who-discards = Who discards food
procedure-who-discards-hint = the post, and who does it when that person is away
procedure-how-discards = How it is discarded
procedure-how-discards-hint = so that nobody can serve or eat it: bin, compost, and where
procedure-where-written = Where that is written
procedure-where-written-hint = in this record, on paper, or both
procedure-over = Food that is past its time, unmarked, or was too warm at the start
procedure-over-hint = what is done with it, who is told, and where it is written
procedure-failure = A fridge that fails, or the power
procedure-failure-hint = what is done with what stood in it, who is told, how one works until then
procedure-training = How people are trained
procedure-training-hint = before they start and after each change: by whom, and where that is written
procedure-checking = Who looks through the record
procedure-checking-hint = how often, for what, and what follows
procedure-kept = Where this procedure and the record are kept
procedure-kept-hint = so that an inspector can see both at once; and for how long
procedure-review-on = Next review
procedure-review-on-hint = a date like 2026-05-02
procedure-review-when = What else brings a review
procedure-review-when-hint = a new food, place or rule; something that went wrong

## The written procedure: its pages

procedure-title = Written procedure
procedure-version = Version { $version }
procedure-draft = Draft of the written procedure
procedure-edit = Fill in the procedure
procedure-go-on = Go on filling in
procedure-versions = All versions
procedure-compare = Compare two versions
procedure-what-changed = What changed
procedure-edit-what = Rules, foods, places and people come from the set-up. Here stands what only you know. A draft can be saved with gaps; it is approved once nothing needed is missing.
procedure-stays = Write the post rather than a name where that will do: a version is kept for ever.
procedure-optional = may stay empty
procedure-open = still to be filled in
procedure-still = Still to be filled in
procedure-still-count = { $count ->
    [one] One thing is still to be filled in
   *[other] { $count } things are still to be filled in
    }
procedure-missing = “{ $name }” is still to be filled in.
procedure-review-not-ahead = The next review, { $date }, does not lie ahead.
procedure-long = “{ $name }” has { $long } characters; at most { $most } find room.
procedure-no-date = “{ $name }” is not a date like 2026-05-02.
procedure-unsaved-next = Nothing was saved yet; all that was typed still stands below.
procedure-saved-by-other = Somebody else saved a draft at { $at }.
procedure-saved-by-other-next = Yours still stands below and is not saved. Save again to put it in the other’s place.
procedure-save = Save the draft
procedure-save-look = Save and look at it
procedure-save-first = No draft has been saved.
procedure-saved-at = Saved { $at }; not approved.
procedure-no-draft = This is what the set-up makes now with the words of the version in force. No draft has been saved.
procedure-approve-what = From then on this version is in force. Its text is kept unchanged, and the ledger seals it with its hash.
procedure-approve = Approve as { $name }
procedure-not-yet = Not approved. { $why }
procedure-not-yet-next = Fill that in and look at it again.
procedure-changed-since = The draft or the set-up has changed since you looked at it. Nothing was approved.
procedure-changed-since-next = Look at it as it is now.
procedure-says-same = Version { $version }, which is in force, says the same. Nothing was approved.
procedure-says-same-next = Change what is to be changed, or the date of the next review.
procedure-changes = What changes against version { $version }
procedure-same = They say the same.
procedure-none = No version of the written procedure has been approved.
procedure-never-approved = Never approved: it was not in force.
procedure-in-force = Version { $version }, approved by { $by }, in force since { $from }.
procedure-was-in-force = Version { $version }, approved by { $by }, in force from { $from } to { $until }.
procedure-next-review = Next review: { $date }.
procedure-review-due = Its review was due on { $date }.
procedure-since = Since it was written, the set-up has changed; the procedure does not say so yet:
procedure-fact = { $kind } “{ $name }”: { $how }
procedure-kind-shop = the shop
procedure-kind-rule = the rule
procedure-kind-product = the food
procedure-kind-place = the place
procedure-added = new
procedure-removed = gone
procedure-changed = changed
procedure-before = Before
procedure-after = After
procedure-nothing = nothing
procedure-between = Version { $a } and version { $b }
procedure-from-version = From
procedure-to-version = To
procedure-made = written { $at }
procedure-on-date = In force on
procedure-on-go = Show
procedure-on = On { $date }: { $what }
procedure-none-on = On { $date } no version was in force.
procedure-bad-date = That is not a date.
procedure-bad-date-next = Type it like 2026-05-02.
procedure-unknown = There is no version “{ $version }” of the written procedure.
procedure-unknown-next = Look for it among all versions.
procedure-readers = Who has read it
procedure-reader = Name
procedure-read-at = Read
procedure-unread = not yet
procedure-new = Read this once
procedure-new-what = Version { $version } of the written procedure is in force: it says how food that may stand out for a time is handled here.
procedure-new-since = What changed since version { $last }, which you read
procedure-whole = All of it
procedure-have-read = I have read it
procedure-later = Later
procedure-done-saved = The draft is saved: { $at }.
procedure-done-approved = Approved. Everybody who works here is asked to read it at their next sign-in.
procedure-pdf-a4 = PDF, A4
procedure-pdf-letter = PDF, Letter
procedure-paper-title = Written procedure, version { $version }
procedure-paper-ledger = ledger to entry { $seq }, { $digits }
procedure-bad-size = Paper is “a4” or “letter”.
procedure-bad-size-next = Choose one on the written procedure’s page.
procedure-board-none = No version of the written procedure has been approved.
procedure-board-review = The written procedure’s review was due on { $date }.
procedure-board-go = Written procedure

## The first run

set-up-title = Set-up
set-up-progress = step { $at } of { $all }
set-up-choose = choose
set-up-next = Next
set-up-back = Back
set-up-finish = Make the shop
set-up-over = This address has been used, or has run out.
set-up-over-next = If nobody can sign in yet, start the program again: it prints a new address.
set-up-shop = Your shop
set-up-name = Its name
set-up-zone = Its time zone
set-up-zone-hint = the city whose clocks are yours; it never changes afterwards
set-up-units = Your thermometers read
set-up-region = Whose food rules apply to you?
set-up-no-name = The shop has no name yet.
set-up-no-name-next = Give it one; it can be changed later.
set-up-no-zone = The shop’s clock isn’t known yet.
set-up-no-zone-next = Choose the city whose clocks are yours.
set-up-no-region = It isn’t said yet whose food rules apply to you.
set-up-no-region-next = Choose one; “somewhere else” will do.
region-us = United States
region-uk = United Kingdom
region-au-nz = Australia or New Zealand
region-elsewhere = Somewhere else
set-up-rules = Its rules
set-up-rules-what = The strictest that applies where you are is ticked. Ask your authority before you take another; of several ticked, the strictest decides for each item.
set-up-proposed = proposed
set-up-no-rule = None of these limits all the time out.
set-up-no-rule-next = Tick one that counts all of it; the proposed ones do together.
set-up-places = Its places
set-up-places-what = Where does food stand?
set-up-own-place = Another place
set-up-own-kind = What it is
set-up-no-place = At least one place has to be cold, and one where food is out.
set-up-no-place-next = Tick a fridge and a bench.
place-fridge = Fridge
place-walk-in = Walk-in
place-freezer = Freezer
place-bench = Bench
place-mixer = Mixer
place-case = Display case
place-counter = Counter
place-van = Van
place-customer = With the customer
kind-cold-store = cold, for storage
kind-frozen-store = frozen, for storage
kind-none-work = not cold, for work
kind-cold-display = cold, for display
kind-none-display = not cold, for display
kind-none-transport = not cold, for transport
kind-none-away = in others’ hands
set-up-products = What it makes
set-up-products-what = What do you make that must not stand warm for long?
set-up-own-products = More of it
set-up-own-products-hint = one on each line; all of them under the rules you chose
product-frosting = Soft-cheese frosting
product-layer-cake = Layer cake
product-cream-cake = Cream cake
product-cheesecake = Cheesecake
product-pastry-cream = Pastry cream
product-custard-tart = Custard tart
set-up-manager = You
set-up-again = Your password again
set-up-not-again = The two passwords are not the same.
set-up-not-again-next = Type both again.

## People and devices

demo-device = Demo browser
role-staff = Staff
role-manager = Manager
role-inspector = Inspector
role-probe = Probe
person-add = Somebody new
person-name = Name
person-name-hint = as the others here call them; it can be erased later, what they entered cannot
person-role = What they may do
person-new-pin = PIN
person-new-pin-hint = for staff: 4 to 6 digits, not 1234 and the like
person-new-password = Password
person-new-password-hint = for managers and inspectors: 15 characters or more are best, 8 at least; any characters
person-password-hint = 15 characters or more are best, 8 at least; any characters
person-add-go = Add
person-elsewhere = In your other shops
person-elsewhere-hint = They keep their name, PIN and password, and are here what they are there.
person-also-go = { $name } works here too
person-done-also = { $name } works here too from now on.
to-another = Another shop
person-list = Everybody
person-pin = PIN
person-password = password
person-both = PIN (as staff) and password
person-neither = neither PIN nor password
person-gone = here no longer since { $when }
person-erased = name erased
person-pin-go = Set the PIN
person-password-go = Set the password
person-name-go = Change the name
person-role-go = Change the role
person-disable-go = Works here no longer
person-enable-go = Works here again
person-erase-what = Erasing takes the name out of every page and record, for good. What was entered stays, under an id; a name that somebody wrote into a note stays too.
person-erase-sure = I know that this cannot be undone
person-erase-go = Erase the name
person-done-added = { $name } can sign in.
person-done-name = { $name }: the name was changed.
person-done-pin = { $name }: the PIN was set. Whoever was signed in with the old one no longer is.
person-done-password = { $name }: the password was set. Whoever was signed in with the old one no longer is.
person-done-role = { $name }: the role was changed.
person-done-disable = { $name } works here no longer and is signed out everywhere.
person-done-enable = { $name } works here again.
person-done-erase = The name of { $name } was erased.
unfit-name = A name has 1 to { $most } characters, and none that cannot be seen.
unfit-name-next = Type it again.
unfit-pin-shape = A PIN is 4 to 6 digits, 0 to 9, and nothing else.
unfit-pin-plain = One digit over and over, or digits in a row, are the first that anybody tries.
unfit-pin-next = Choose another PIN. Nothing was changed.
unfit-password-short = A password has { $least } characters at least.
unfit-password-long = That password is longer than a thousand characters.
unfit-password-common = That password is among the first that anybody tries.
unfit-password-name = A password that is the name is the first that anybody tries.
unfit-password-next = Choose another: a few words that come to nobody else’s mind will do. Nothing was changed.
trouble-name = Something here has that name already.
trouble-sign-in = Somebody signs in by that name already.
trouble-name-next = Add an initial, so that they can be told apart.
trouble-nobody = There is nobody and nothing of that name to change here.
trouble-nobody-next = Look at the list as it stands now.
trouble-elsewhere = They belong to a shop too that you don’t manage.
trouble-elsewhere-next = Ask a manager of both shops.
trouble-last = Nobody would be left to manage the shop.
trouble-last-next = Make somebody else a manager first.
trouble-staff = Staff sign in with a PIN, and on enrolled devices alone.
trouble-staff-next = Change the role first, or set a PIN.
device-name = Its name
device-name-hint = where it lies or hangs, like “bench phone”
device-go = Make a code for it
device-code = Its code, shown this once
device-code-what = On the device, open the sign-in page and “This device has a code”. It works once, within an hour.
device-code-link = The address that enrols it: open it on the device
device-list = The shop’s devices
device-none = None yet. Staff sign in with a PIN on enrolled devices alone.
device-waiting = waits for its code until { $when }
device-late = its code has run out
device-enrolled = enrolled { $when }
device-revoked = revoked { $when }
device-code-go = Another code
device-revoke-what = Whoever is signed in on it with a PIN is signed out at once.
device-revoke-go = Revoke it

## The board

board-title = Board
board-counts = { $out } out, { $cold } cold, { $frozen } frozen
board-more = Show the other { $n }
board-late = { $n ->
    [one] 1 carries a time that is too late
   *[other] { $n } carry a time that is too late
    }
board-unmarked = { $n ->
    [one] 1 not marked
   *[other] { $n } not marked
    }
board-empty = Nothing is open. The next cake begins with “New item”.
group-act = Needs you now
group-labels = Wrong time on it
group-out = Out
group-cold = Cold
group-frozen = Frozen
log-title = The log
log-today = Today
log-week = Last seven days
log-csv = for a spreadsheet (CSV)
log-jsonl = whole entries (JSON Lines)
log-rules = The rules in use

## An item at a glance

name-count = { $amount } × { $name }
lead-discard-by = discard by
lead-was = its time was
lead-would = if taken out now, discard by
lead-no-limit = no limit
big-no-limit = none
left-out = { $span } left
left-once-out = { $span } once out
left-none = no time left
total-out = out { $span } in all
verdict-return = Put it back
verdict-use = Use it now
verdict-discard = Discard
go-out = Out to { $place }
go-back = Back to { $place }
go-discard = I discarded it
go-page = Use, sell or close it
go-read = Read it first: { $go }
back-no-discard = May it go back? No: discard it.
back-no-use = May it go back? No: use or sell it now.
back-now = May it go back? It must, now.
back-never = May it go back? No: its clock runs on in the cold.
back-until = May it go back? Yes, until { $time }.
back-any = May it go back? Yes.
strip-total = out { $span } in all
strip-came = { $span } of it came with { $who }
strip-spell = out { $from } to { $to }
strip-open = out since { $from }
strip-limit = limit at { $time }

## An item's page

closed-at = { $how }, { $when }
use-by = Use by { $date }
decides = The time comes from “{ $rule }”: { $what }.
decides-inherited = The time came with what this was made from, under “{ $rule }”.
sum-title = How the time is made up
sum-where = Out
sum-length = h:mm:ss
sum-spell = { $from } to { $to }, { $place }
sum-open = since { $from }, { $place }
sum-came = came with { $name } ({ $count ->
    [one] one stretch out
   *[other] its stretches out
    })
sum-total = In all
sum-none = It has not been out.
deviations-title = Done otherwise than the rules ask
other-places = Somewhere else
other-time = It was at another time
read-first = Its rule wants its temperature as it leaves. Leave it empty only if nobody can read it
reading-value = Temperature of the food
reading-go = Record it
do-correct = Correct an entry
correct-which = Which entry
correct-void = It did not happen: strike it out
correct-set = It happened, but otherwise:
correct-at = at
correct-place = in
correct-same-place = the same place
correct-value = temperature
correct-reason = Reason
correct-go = Correct it
log-heading = Entries
log-nobody = not said by whom
log-by = by { $who }
log-late = { $who }, entered { $span } late
log-voided = struck out: { $reason } ({ $who }, { $when })
log-restored = as first written again: { $reason } ({ $who }, { $when })
log-reads = { $when }: { $said }
log-corrected = now reads { $now }; { $reason } ({ $who }, { $when })
made-from-title = Made from
went-into-title = Went into
rules-title = Its rules
rule-source = Source: { $source }

## The small pages behind an item's page

back-to = Back to { $name }
figures = { $total }; { $rest }
figure-by = discard by { $time }
stays = Stays in the log for good: no names of people.
coat-title = Coat, fill, top up
coat-hint = What goes onto it or into it? Its minutes come along.
coat-go = { $name } goes in
scrapings-title = Scrapings back
scrapings-hint = Which tub do they go back into? It takes on this one’s minutes.
scrapings-go = Back into { $name }
mix-title = Mix two
mix-hint = With which one? What is mixed takes the worse of both.
mix-go = They are mixed
mix-left = Is any left over? Untick it
mix-spent = { $name } is used up
join-brings = { $name } brings
join-then = { $name } then: { $figures }
join-other = No, another one
join-none = Nothing else is open.
join-more = Show the others
end-title = Sold, used up, gone
end-count = How many of { $count }
end-all = all
end-how = How it ended
end-more = A reason, another number, another time
end-because = Why, if you like.
split-title = Split
split-brings = { $name } is split; both carry
split-count = How many of { $count } go their own way
split-where = Where the new part stands
split-more = Another number, another place
split-go = Split it
temperature-title = Temperature
when-title = How long ago
when-ago = { $minutes } min ago
when-at = Or at what time
when-yesterday = yesterday
why-title = Why it is late.
undo-why = Why it is taken back.
undo-other = another one was meant
undo-place = another place
undo-time = another time
undo-never = it never happened
why-forgot = forgot to tap
why-hands = hands were full
why-phone = phone was elsewhere
why-paper = copied from paper
why-other = Another reason, or more of it
why-more = { $chosen }: { $more }
earlier-title = It happened earlier
earlier-hint = Say when and why, then what. It stays marked as entered late.
earlier-what = It went
earlier-to = to { $name }
earlier-ended = Or it was
found-title = Found it out
found-known = Last known to be cold: { $how }.
found-counts = Since nobody knows better, its clock counts from then: { $span } up to now.
found-where = Where does it stand?
found-not-cold = It is not logged in the cold: its clock runs already.
found-note = Found out of the cold; counted from when it was last known to be cold: { $how }.
cold-since = in { $place } since { $time }
cold-seen = seen in { $place } at { $time }
cold-read = read { $value } at { $time }
was-out-title = It was out: when did it leave?
was-out-said = { $who } has it in { $place } since { $time }. If it was out after that, two moves are written: out then, back now.
was-out-when = When did it leave?
was-out-where = Where was it?
was-out-go = It was on { $name }; it is back in { $here } now
was-out-note = Out in between, entered when it was back.
meanwhile-moved = { $who } moved { $name } to { $place } at { $time }. Nothing was recorded now.
meanwhile-closed = { $who } closed { $name } as { $how } at { $time }. Nothing was recorded now.
meanwhile-begun = { $name } is where it began at { $time } ({ $who }). Nothing was recorded now.
meanwhile-next = This is how it stands; touch again if it is still wanted.
undo-title = Undo
undo-last = Undo: { $said }, { $time }
undo-hint = This is taken back. It stays in the log, struck out.
undo-all-hint = Later entries rest on it. All of these are taken back together; they stay in the log, struck out.
undo-line = { $name }, { $time }: { $said } ({ $who })
undo-go = { $n ->
    [one] Undo it
   *[other] Undo all { $n }
    }
undo-not = No, leave it
undo-old = That is more than ten minutes ago: say why it is taken back.
undo-marked = Its mark is taken back with it, and a later time may be given then. Say why: is the label off?
undo-label = the label is off and thrown away
undo-unwritten = nothing was written or printed
undo-nothing = Nothing of this item can be taken back there.
made-name = { $product }, { $day } { $n }
made-part = { $name }, part { $n }

## Marks

mark-title = Its mark
mark-lead = Mark it: discard by { $time }
mark-go-written = Written on it
mark-go-printed = Print
mark-anew = Mark it
mark-said = It carries “discard by { $by }” ({ $how } { $when }, copy { $copy }).
mark-next = This one would be copy { $copy }.
mark-next-new = New time: it is earlier than the last. This one would be copy { $copy }.
mark-held = An earlier mark says { $time }; a new one never says later.
mark-passed = An earlier mark says { $time }, and that time has come; a new one never says later. Nothing is marked.
mark-strike = If that label is off and gone, strike it out
mark-no-limit = Nothing in its rules would ever discard it: there is no time to mark it with.
mark-over = Its time is over: discard it. Nothing is marked.
mark-closed = It is closed. Nothing is marked.
mark-changed = Its time is { $time } by now, not what the page showed. Nothing is marked: write { $time } on it, then touch again.
mark-cold = In the cold there is no time to mark it with.
mark-all = Mark all that is out, each with its own time
mark-all-written = Written on all
mark-all-printed = Print all
mark-other = Another time is on it
mark-other-hint = Copy what stands on it, even if it is wrong: then the log knows, and says so.
mark-other-time = It says
mark-other-time-hint = like 14:30
mark-other-date = On
mark-other-date-hint = if it isn’t the nearest day
mark-which-day = That may be of { $past } or of { $near }: say which date it is.
mark-other-go = This stands on it
label-late = Wrong time on it: { $time } is too late
label-unmarked = Not marked
label-to = Its label
label-print = Print this page with the browser.

## A label against the log

check-title = Label against log
check-agrees = It carries { $says }, and that agrees with the log.
check-late = It carries { $says }, later than the log: by the log it goes by { $by }.
check-unmarked = Its rule asks that it carry its time while it is out, and it carries none.
check-never-marked = It never carried a time, though its rule asks for one.
check-none = It carries no time, and its rules ask for none now.
check-printed = Printed
check-written = Written
check-computed = By the log
check-nothing = never
check-no-time = no time
check-same = agrees
check-later = too late by { $span }
check-earlier = agrees: earlier, and the earlier time holds
check-replaced = { $agrees }, if it is still on it
check-no-limit = nothing to compare with
check-mark = { $at }, copy { $copy }, by { $who }
check-closed = when it closed, { $time }
check-came = came with { $name }
check-began = begun there by { $who }
check-out = taken out by { $who }
check-joined = out already as it was joined
check-lapse = its place lost its cold, entered by { $who }
check-read = read { $degrees } at { $time }
check-not-taken = temperature not taken
check-back = then { $what }, by { $who }
check-marks = Every mark it had
check-marks-none = None.
check-from-nothing = Nothing that is logged.
check-into-nothing = Nothing that is logged.

## The round of the cold places, in the morning and at closing

round-title = Round of the cold
round-hint = First thing and last thing of the day, place by place: what does its thermometer show, and is all that is logged there really there?
round-count = { $here } logged here, { $seen } seen today, { $air }
round-air = air { $degrees } at { $time }
round-air-unread = air not read today
round-air-label = Its thermometer shows
round-air-hint = Read it, never guess it. Leave it empty if there is none.
round-air-done = { $place }: { $degrees } recorded.
round-all-seen = All seen.
round-seen = seen { $time }
round-empty = Nothing is logged here.
round-next = On to the next place
round-place-hint = Untick what is not there, then touch once. You are asked about the rest.
round-here = Logged here
round-go = These are here
round-go-air = Record it
round-done = { $n ->
    [0] Nothing was seen in { $place }.
    [one] 1 seen in { $place }.
   *[other] { $n } seen in { $place }.
    }
round-ask = Where is { $name }?
round-ask-said = Logged in { $place } since { $since }; { $figures }.
round-after-all = It is here after all
round-out = It stands out of the cold
round-elsewhere = It is in another cold place
round-gone = It is gone
round-later = Ask about the next one
round-left = { $n ->
    [0] This is the last one to ask about.
    [one] 1 more to ask about.
   *[other] { $n } more to ask about.
    }

## Entries in words

said-begun = begun in { $place }
said-begun-from = begun in { $place }, from { $from }
said-join = in it now: { $from }
said-move = to { $place }
said-reading = read { $value }
said-reading-rack = read { $value }, probed at { $probed }
said-mark = marked “discard by { $time }”, { $how }, copy { $copy }
said-seen = seen in { $place }
said-close = { $how }
said-close-some = { $amount } { $how }
said-because = { $what }: { $why }
mark-written = by hand
mark-printed = printed
closed-served = served
closed-sold = sold
closed-used = used up in others
closed-handed-over = handed over
closed-discarded = discarded
closed-lost = lost
control-cold = cold
control-frozen = frozen
control-none = not cold

## Rules in words

defers = Guidance only: the local health authority's code and its decisions come before every rule here.
returns-any = May go back into the cold.
returns-until-use = May go back into the cold until its first limit.
returns-never = May not go back once its clock runs.
rule-asks-for-mark = What is out carries the time it must go.
demand-return = Put it back
demand-use = Use it now
demand-discard = Discard
demand-deviation = Noted
use-store = storage
use-work = work
use-display = display
use-transport = transport
use-away = others’ hands
clause-line = { $demand }: { $what }
clause-line-uses = { $demand }: { $what } (counted in: { $uses })
clause-at = at { $what }
clause-past = past { $what }
clause-total-out = { $max } out in all
clause-since-first-out = { $max } since it was first out
clause-spells = more than { $max } stretch out
clause-longest-spell = { $max } out in one stretch
clause-out-above = { $max } out in air above { $above }
clause-food-temperature = food over { $max }
clause-start-temperature = food over { $max } when first out, or not read within the hour before
clause-day = after day { $max }, the day it began being day 1
clause-cooled = not down to { $to } within { $max }
why-line = { $demand } (“{ $rule }”): { $what }
why-total-out = out { $used } in all, the limit is { $max }
why-since-first-out = first out { $used } ago, the limit is { $max }
why-spells = out { $used } times, the limit is { $max }
why-longest-spell = out { $used } in one stretch, the limit is { $max }
why-out-above = out { $used } in air above { $above } or unread, the limit is { $max }
why-food-temperature = read { $used }, the limit is { $max }
why-start-temperature = it was { $used } when first out, the limit is { $max }
why-start-unread = nobody read its temperature in the hour before it was first out
why-day = this is day { $used }, the last is day { $max }
why-cooled = { $used } and not down to { $to } in time, the limit is { $max }
why-made-from = Discard: made from { $who } after the time for that, { $time } under “{ $rule }”
dev-line = { $at }: { $what }
dev-line-rule = { $at }: { $what } (“{ $rule }”)
dev-returned-late = put back after it should have been used
dev-returned-not-allowed = put back though this rule allows no return
dev-start-warm = too warm when it was first out
dev-start-unread = not read before it was first out
dev-not-cooled = not cooled in time
dev-made-from-over = made from something that was over its time
dev-served-late = handed to somebody after its time
dev-label-late = its mark says a later time than is now known
dev-entered-late = a late entry moved its time past its mark

## What the shop is set up with

to-shop = Rules, places, products
shop-clock = Its clock is that of { $zone }; that never changes.
shop-done = Recorded.
shop-rename = Its name, and what its thermometers read
shop-change = Change it
shop-rules = Rules in use
shop-other-rules = Other rules of the book
shop-take-rule = Take “{ $name }” into use
shop-no-rule = Touch the rule that is meant.
shop-places = Places
shop-name = Name
shop-place-stays = What it is never changes: for that, make another place.
shop-new-place = Another place
shop-add-place = Add the place
shop-no-kind = Say what the place is.
shop-products = Products
shop-product-rules = The rules its items are under; every one holds
shop-chill = Minutes until it is cold again
shop-chill-hint = back in the cold its clock runs on that long; empty for none
shop-soft = Minutes out until too soft to work
shop-firm = Minutes in the cold until firm
shop-hints = a hint outside every limit
shop-exempt-reason = Only if it needs no time control: why
shop-exempt-evidence = and by what evidence
shop-exempt-hint = with both, it may be without rules; they stay in the log for good: no names of people
shop-product-after = It counts for what is begun from now on; what was begun before keeps its rules.
shop-new-product = Another product
shop-add-product = Add the product
product-chill = { $minutes } min until cold again
product-soft = soft after { $minutes } min
product-firm = firm after { $minutes } min
product-exempt = no time control needed: { $reason } ({ $evidence })
place-kind = { $control }, for { $purpose }

## A new item

new-title = New item
new-product = What is it
new-no-product = none of them
new-further = Everything else we make
new-more = A name, a rule of its own, another time
new-rule = Its rule, if it is something else
new-no-rule = the product’s
new-name = Its name
new-name-hint = leave empty and one is made.
new-place = Where it stands
new-from = Made from
new-from-hint = tick what went into it: its minutes go along
new-count = How many on the tray
count-other = another number
new-go = Begin

## Tags and racks

tags-to = Tags and racks
tags-title = Tags to print
tags-what = A tag is a label with a code. Tie it to an item or a rack; whoever scans it is there at once. Wash it and use it again.
tags-count = How many
tags-count-hint = leave empty for { $usual }; at most { $most }
tags-bad-count = A sheet has 1 to { $most } tags.
tags-go = Make a sheet of new tags
sheets-title = Sheets made
sheet-line = { $when }: { $tags } tags, { $tied } on something
sheet-title = A sheet of tags
sheet-how = Print this page with the browser, on labels or on paper to cut.
sheet-leads = The codes lead to { $base } (if phones reach the shop at another address, start the program with --address and print again).
tag-title = Tag { $code }
tag-on = It is on
tag-on-closed = It is still on something that is closed:
tag-on-nothing = It is on nothing.
tag-tie = What goes under it
new-tag = It will carry tag { $code }.
tag-new = Begin a new item
tag-tie-item = Or something that stands here already
tag-tie-rack = Or a rack
tag-off = Take the tag off
tag-past = What it was on
tag-is-on = since { $from }: { $name } (tied by { $by })
tag-was-on = { $from } to { $until }: { $name } (tied by { $by })
tag-unknown = Nobody here has that tag.
tag-unknown-next = Check the code, or scan it once more.
tag-torn = That is not a whole code: a tag has { $length } letters and digits.
tag-torn-next = If the label is torn, look for the item on the board and tie another tag to it.
tag-item-closed = { $name } is closed.
tag-item-closed-next = Tie the tag to what is open.
tag-on-no-item = That tag is on no item.
tag-on-no-item-next = Scan the tag of the item that goes on the rack.
was-on-title = What became of { $was }?
was-on-why = Tag { $code } is still on { $was }, which is open. Before it goes on { $next }:
was-on-stays = { $was } is still here and goes on without this tag
was-on-leave = Leave the tag where it is
item-tag-title = A tag on { $name }
item-no-tag = No tag is on it yet.
item-tag-go = Tie this tag to it
code-label = The code on the tag
code-hint = ten letters and digits; small letters, spaces and hyphens don’t matter
code-wrong = That is no code of a tag.
code-wrong-next = It has ten letters and digits, in two groups of five.
done-tied = The tag is tied.
scan-title = Find by tag
scan-go = Go there
scan-instead = Scan the tag, or type it on large keys
scan-rack-title = Onto { $rack }
scan-onto = Scan tags onto this rack
camera-on = Scan with the camera
camera-off = Stop the camera
camera-failed = The camera can’t be used. Type the code.
key-back = Back one
key-clear = Start again
racks-title = Racks
racks-what = A rack is what stands on it: one touch moves all of it.
racks-all = All racks
racks-full = There are { $most } racks already.
racks-full-next = Use one of them.
rack-line = { $name }: { $count ->
    [0] empty
    [one] one item
   *[other] { $count } items
    }
rack-name = A new rack
rack-name-hint = what is written on it
rack-no-name = A rack needs a name of at most 200 characters.
rack-no-name-next = Write what stands on the rack, like “Rack 3”.
rack-make = Make this rack
rack-empty = Nothing stands on it.
rack-in = { $amount } in { $place }
rack-until = { $lead } { $time }
rack-all = All: { $label }
rack-not-back = May not go back into the cold: { $names }. Take them off first.
rack-read = Temperature, probed at one of them
rack-probed = Which one was probed
rack-read-go = Record it for all
rack-on = { $count ->
    [one] One item on it
   *[other] { $count } items on it
    }
rack-take = Take off
rack-put = Put on it
rack-put-code = By its tag
rack-put-items = Or what stands elsewhere
rack-put-go = Put on the rack
rack-put-nothing = Nothing was put on the rack.
rack-put-nothing-next = Tick or scan what is open.
rack-full = No room for { $count ->
    [one] one of them
   *[other] { $count } of them
    }.
rack-full-next = Take something off, or use another rack.
rack-tags = Its tags
rack-tag-go = Tie this tag to the rack
put-on = Put it on { $rack }
item-on-rack = It stands on
rack-refused = { $name }: { $why }
rack-before = left as it was when this was tapped first.
done-rack-moved = { $count ->
    [0] Nothing was moved.
    [one] One item moved to { $place }.
   *[other] { $count } items moved to { $place }.
    }
done-rack-read = { $count ->
    [0] No temperature was recorded.
    [one] Temperature recorded for one item.
   *[other] Temperature recorded for { $count } items.
    }
done-rack-marked = { $count ->
    [0] Nothing was marked.
    [one] One item marked.
   *[other] { $count } items marked.
    }
done-rack-printed = Print them now: their labels are at the end of this page.
done-rack-undone = Taken back: what stands on the rack is where it was.
done-put-by-tag = { $name } is on the rack, { $count } in all.
done-rack-put = { $count ->
    [one] One item put on the rack.
   *[other] { $count } items put on the rack.
    }

# Paper.
paper-page = page { $n } of { $of }

ticket-discard-by = Discard by
ticket-left = Time left out
ticket-by-hand-out = out at ____ : ____
ticket-by-hand-by = discard by ____ : ____
ticket-made = Made/opened
ticket-out-at = Out at
ticket-use-by = Use by
ticket-copy = Copy { $copy }
ticket-copy-new = Copy { $copy }: new time, take the old label off
ticket-rule = { $name }. { $clauses }. { $returns }
ticket-rule-plain = { $name }. { $returns }
ticket-log = Log { $seq }, { $digits }
ticket-code = A code that leads to { $address }
ticket-title = Label: { $name }
ticket-closed = It is closed: it has no label.
ticket-closed-next = Its log says how it ended.
ticket-over = Its time is over: it has no label any more.
ticket-over-next = Discard it.
ticket-unprinted = No label was printed yet.
ticket-unprinted-next = Touch “Print”: the log then keeps what the label says.
ticket-too-late = The label that was printed says { $time }, and that is too late by now.
ticket-too-late-next = Print it anew, with { $time }, and take the old label off.
ticket-no-limit = Where it is nothing in its rules would discard it: there is no time to print.
ticket-no-limit-next = Print its label once it is where its clock runs, or back in the cold.
ticket-held = An earlier mark says { $time }, and that time has come: no label gives more.
ticket-held-next = Take the label off; see its mark.
ticket-held-by = An earlier mark says { $time }: it holds.
ticket-left-too = Out again: { $left } at most. Out at ____ : ____ discard by ____ : ____
ticket-days = from its thaw on
ticket-missing = No label: { $why } { $next }
ticket-go = Print a label with { $time }
ticket-again = Print another copy
ticket-sizes = As a PDF to print
ticket-copies = However often it is printed, all of it is this one copy. Print one, or “Print another copy” for a number of its own.
ticket-page-as = This page itself, for
paper-57mm = 57 mm roll
paper-a4 = A4
paper-letter = Letter
paper-bad-size = There is no such paper.
paper-bad-size-next = Take 57mm, a4 or letter.
labels-title = Labels
labels-lead = Tick what is to have a label. What has been marked as printed gets its time; what is cold, the time it may be out.
labels-none = Nothing is open: there is nothing to label.
labels-nothing = No item was ticked.
labels-nothing-next = Tick what is to have a label.
labels-too-many = That is more than { $most } labels at once.
labels-too-many-next = Print the rest after.
labels-go = Labels as a PDF
labels-paper = On
labels-of-rack = Labels of all that stands on it
tags-paper = As a PDF: { $paper }

## Decisions, and the day's review

decisions-title = Decisions
decisions-what = What needs a person. Nothing goes from here by itself: only by the entry that mends it, or by a decision with its reason.
decisions-bound = Looked at: everything that is open, and the last { $days } days of what closed, of late entries and of days to sign. What is older stands in the record.
decisions-cut = There was more than this page reads: it shows the latest { $entries } entries and the { $closed } items closed last.
decisions-none = Nothing waits for a decision.
decisions-over = Over, and not dealt with
decisions-others = To decide
decisions-done = Recorded, with your name and the time.
decisions-say-why = Say why.
decisions-say-what = Touch what was decided.
decisions-say-reference = Say what the approval rests on.
decisions-gone = This no longer waits: somebody decided it, or an entry mended it.
board-decisions = { $n ->
    [0] Decisions: none wait
    [one] 1 decision waits
   *[other] { $n } decisions wait
  }

matter-since = since { $when }
matter-over = Over its time and not thrown away
matter-no-return = May no longer go back: to be used, or thrown away
matter-seen = Seen where the log does not have it
matter-seen-in = was seen in { $place }, { $when }, by { $who }; the log has it elsewhere.
matter-closing = Out when the shop closed
matter-closing-in = was in { $place } at the last entry of the day, { $when }; after it nothing was written for four hours.
matter-unmarked = Out without the mark its rule asks for
matter-burst = Many entries at once that say they happened apart
matter-burst-by = { $who }: { $n } entries within a minute, { $when }; by what they say, they lie { $span } apart.
matter-late = Entered late
matter-late-by = entered { $span } late, { $when }, by { $who }
matter-late-place = { $place }: entered { $span } late, { $when }, by { $who }
matter-no-reading = A cold place that nobody has read for a day
matter-no-reading-in = { $place }: no reading of its air since { $when }, or since it was set up. More than 24 hours is this program's choice.
matter-air-above = Warmer than its limit, and no lapse is written
matter-air-on = { $place }: above { $limit } since { $since }, up to { $warmest }. Last known to be cold: { $from }.
matter-air-over = { $place }: above { $limit } from { $since } on, up to { $warmest }. Known to be cold { $from }; no lapse is written from then to { $until }.
matter-air-silent = A probe that said nothing, and no lapse is written
matter-silent-on = { $place }: its probe has said nothing since { $since }. Last known to be cold: { $from }.
matter-silent-over = { $place }: its probe said nothing from { $since } on. Known to be cold { $from }; no lapse is written from then to { $until }.
matter-rule = A rule in use without an approval
matter-rule-basis = “{ $rule }” rests on: { $basis }. It works all the same; say on what ground you use it.
matter-no-procedure = No written procedure is in force
matter-procedure = The written procedure is to be looked through again
matter-unsigned = A day that nobody has signed
matter-in = in { $place }, { $when }
matter-in-rule = in { $place }, { $when } (“{ $rule }”)

way-discard = Throw it away
way-end = Used, sold or thrown away
way-correct = Correct an entry
way-day = The day's entries
way-read = Read it
way-rule = The rule

decide-title = Decide
decide-which = What was decided
decide-acknowledge = Seen and known
decide-keep = Kept, for this reason
decide-corrected = Put right
decide-dismiss = Not a matter
decide-reason = Why
decide-go = Record the decision
approve-title = Approve it
approve-reference = What the approval rests on: a letter, a section of your procedure
approve-go = Approve

review-title = The day's review
review-of = The day's review: { $date }
review-go = Read and sign
review-what = Every entry that says it happened on this day, but for what probes read. Late ones and corrected ones come first.
review-odd = Late or corrected
review-all = All else of the day
review-none = Nothing was written about this day.
review-signed = Read and signed by { $who }, { $when }.
review-since = Something was written about it after that: read it again.
review-running = The day is not over: what is written later opens it again.
review-sign = Read and signed
review-done = Signed. What is written later about this day opens it again.
review-meanwhile = Something was written about this day since the page was made. Read it, then sign.
review-older = This page reads the last { $days } days. An older day stands in the record.
review-more = Only the first { $n } are shown; the record has them all.
review-before = The day before
review-after = The day after
review-lapse = without its cold
review-lapse-until = without its cold until { $until }
review-restore = cold again
review-setup = set up or changed: { $name }
review-decided = decided: { $action }. { $reason }
review-approved = approved: { $what }
review-reviewed = signed: { $from } to { $to }

## Failures of the cold: every cold place, a power cut, a place's air, its probes

cold-title = The cold
cold-to = The cold
cold-all-well = No cold place is known to have failed.
cold-places = Cold and frozen places
cold-none = No place here keeps anything cold.
cold-proposed = To confirm: no cold, by the readings
cold-proposed-what = Nothing counts yet. Look at the place, then confirm it, or have a manager say why it is none.
cold-failed = without its cold since { $when }
cold-above = above its limit since { $when }
cold-silent = silent since { $when }
cold-unread = never read
cold-in-control = in control
cold-in-control-then = in control when it was last read
cold-more = { $n } more places
cold-waits = { $span } waits to be confirmed
cold-line = { $place }: { $state }
cold-last = { $degrees } at { $when }
cold-last-none = no reading of its air
cold-holds = { $n ->
    [0] Nothing in it
    [one] 1 item in it
   *[other] { $n } items in it
  }
cold-again = Cold again: { $place }
cold-again-all = All { $n } cold again
cold-dismiss-title = It was not that
cold-dismiss-what = Only where the food was cold all the same: the probe lay elsewhere, the door stood open for a moment. What is said stays in the log.
cold-dismiss-go = Record why it is none
cold-why-above = Limit { $limit }; above it for longer than its { $grace } of grace.
cold-why-silent = Its probe said nothing for longer than { $silent }.
cold-why-warmest = Warmest: { $degrees } at { $when }.
cold-why-good = Last good reading before it: { $degrees } at { $when }.
cold-span-open = { $place }: without its cold from { $from }, still going on
cold-span = { $place }: without its cold from { $from } to { $until }
cold-confirm-open = Confirm: no cold since { $from }
cold-confirm = Confirm: no cold { $from } to { $until }
cold-note-above = proposed by the readings: above { $limit } since { $since }
cold-note-silent = proposed by the readings: silent since { $since }
cold-note-cut = power cut or another failure
cold-done-lapse = Recorded. Every item in it counts as out for that time; nothing was thrown away by this.
cold-done-restore = Recorded: cold again. What was counted stays counted.
cold-done-dismiss = Recorded, with your name and the time.
cold-gone = This is no longer proposed: something was read or recorded meanwhile. Look again.
cold-open-already = { $place } is recorded as without its cold since { $when } already.
cold-nothing-open = No place is recorded as without its cold.

cut-title = Power cut, or another failure
cut-what = Nothing is recorded yet by the next page: it shows what this would mean for each item.
cut-places = Which places
cut-last-good = last good reading { $degrees } at { $when }
cut-no-good = no good reading known
cut-at = Since when
cut-good = Each since its last good reading
cut-good-what = where nobody knows the time
cut-until = Cold again at
cut-going-on = empty while it is still going on
cut-show = Show what this means
cut-means = What this would mean
cut-nothing-yet = Nothing is recorded yet.
cut-go = { $n ->
    [one] Record it: 1 place without its cold
   *[other] Record it: { $n } places without their cold
  }
cut-change = Other places, another time
cut-none = Every cold place is recorded as without its cold already.
cut-pick = Tick the places that have no cold.
cut-say-since = Say since when.
cut-say-one = Say a time, or tick that each counts from its last good reading: not both.
cut-future = { $time } is still to come today. Tick “yesterday” if it was then.
cut-backwards = It cannot be cold again before it failed.
cut-unknown-good = { $place } has no good reading to count from: say a time.
cut-not-cold = { $place } has no cold to lose.

affected-title = Affected items
affected-now = Now
affected-then = With it
affected-within = Within
affected-none = No item that is known stood there in that time.
affected-sums = { $n ->
    [one] 1 item affected
   *[other] { $n } items affected
  }
affected-discard = { $n } to be discarded
affected-use = { $n } that may not go back
affected-return = { $n } to be put back
affected-within-count = { $n } within
affected-ended = { $n } that have ended already
affected-ended-title = Sold, used or thrown away since
affected-cut = Only the { $n } items closed last since then were looked at.
affected-sum-line = { $total }: { $parts }.
affected-by = discard by { $time }
affected-left = left { $span }
affected-left-cold = left { $span } once out
affected-left-none = nothing left
affected-no-limit = no limit
affected-more = Show all { $n }

grid-title = After a power cut: a published grid
grid-caption = Food that was at { $from } or colder when the power went
grid-hours = Without power
grid-rows-first = less than 2 hours
grid-rows-second = 2 to 4 hours
grid-rows-third = 4 hours and longer
grid-column-first = at { $to } or colder by now
grid-column-second = over { $from }, up to { $to }
grid-column-third = over { $from }
grid-here = so long by now
grid-sell = may be sold
grid-no = not to be sold
grid-source = Washington State Department of Health, decision grid for power outages in food establishments. Published in whole degrees Fahrenheit: 45 or less, 46 to 50, 51 or more; in hours 0 to 2, 2 to 4, over 4. What lies between two is taken for the warmer and the longer here.
grid-beside = It asks for the temperature of the food itself, read with a probe. It changes no verdict of this program: the shop’s rules count as they did.

air-title = Air of { $place }
air-day = The last 24 hours
air-week = The last 7 days
air-table = The same as a table
air-when = When
air-value = Read
air-note = What it means
air-from-to = { $from } to { $to }
air-range = { $low } to { $high }
air-of = { $range }, of { $n } readings
air-is-above = above its limit
air-is-lapse = recorded as without its cold
air-none = no reading
chart-legend = Each reading holds until the next. A gap: no reading. Hatched: recorded as without its cold.
chart-limit = limit { $degrees }
chart-gap = no reading
chart-span = { $from } to { $to }
chart-range = lowest { $low }, highest { $high } at { $at }
chart-unread = no reading in this time
chart-above = above its limit from { $from } to { $to }
chart-lapse = recorded as without its cold from { $from } to { $to }
chart-lapse-open = recorded as without its cold since { $from }
chart-gap-from = no reading from { $from } to { $to }
chart-more = and { $n } more

watch-title = How it is watched
watch-what = A lapse is proposed, never recorded by itself, once its air was above the limit for longer than the grace, or its probe silent for too long.
watch-words = Limit { $limit }; above it for longer than { $grace }, or silent for longer than { $silent }, a lapse is proposed.
watch-limit = Its air is to be no warmer than
watch-grace = Minutes above it that are let pass
watch-grace-hint = a door that opens, a defrosting
watch-silent = Minutes without a reading
watch-silent-hint = after which its probe counts as silent
watch-bad = Give a temperature of at most one digit after the point, and whole minutes: at most { $grace } of grace, { $least } to { $most } of silence.
watch-done = Recorded. It counts from now on; what was recorded stays.

to-probes = Probes
probes-title = Probes
probes-what = A probe’s token writes readings of its places, and nothing else.
probe-name = Name
probe-name-hint = what the thing is called: the logger in the walk-in
probe-places = Which places it reads
probe-go = Make a token for it
probe-token = Its token
probe-token-what = It is shown this once. With it, a reading is sent so:
probe-curl-hint = Several readings go in one array; one that was sent before does no harm.
probe-list = Known probes
probe-none = None yet. A token made by the program’s own command is listed here too.
probe-all-places = every place
probe-last = Last reading { $when }
probe-last-none = No reading in the last 14 days
probe-revoked = Revoked { $when }
probe-revoke-what = It can write nothing from then on; what it wrote stays.
probe-revoke-go = Revoke it
probe-pick = Tick the places it reads: one at least, { $most } at most.
probe-taken = There is a probe of that name already.
probe-taken-next = A token isn’t shown again: revoke that one, or choose another name.
probe-nobody = There is no such probe.
probe-nobody-next = It may have been revoked; look in the list.

way-cold = Confirm it, or say why it is none

## Without signal

waiting-one = 1 tap waits on this device to be sent.
waiting-many = { $n } taps wait on this device to be sent.
waiting-lost = { $n } taps waited on this device, and it has let go of them: they were not recorded. Look at what you moved, and enter it with its time.
waiting-refused = Something tapped here was not taken.
waiting-go = Look
lacks-plain = Over this address nothing is kept without signal: that needs https. A tap that gets no answer is not recorded.
lacks-private = This window keeps nothing without signal. A tap that gets no answer is not recorded.
worker-nothing = No answer from the server, and this device has kept nothing to go on with. Nothing was recorded: write it on paper with the time, and enter it later.
worker-full = No answer from the server, and this device has no room to keep what was tapped. Nothing was recorded: write it on paper with the time, and enter it later.
worker-back = Try again
signal-title = No signal
signal-what = What you tap here is kept on this device with its time, and sent in order once there is signal. The figures are what the server said last; a discard time still stands.
signal-age = Figures as of { $t }, { $span } old.
signal-age-new = Figures as of { $t }.
signal-again = Ask the server again
signal-put = Kept on this device: { $name }.
signal-not = No answer from the server. That is not kept to be sent later: nothing was recorded.
signal-reached = time reached: not to be eaten before somebody has asked
signal-shorter = may be shorter: what was tapped about it is not counted yet
signal-move = to { $place }
signal-seen = seen in { $place }
signal-held = waits until { $name } signs in here
signal-waiting = Waiting to be sent
signal-others = { $n } more items are not kept on this device.
signal-more = Elsewhere, coat, mark
signal-join = It went in
signal-typed = Written on it
signal-take-back = Take it back
signal-read-it = I have read it
signal-stories = Both stories
signal-script = This page is filled in by a script, and scripts are off.
tap-note = Tapped without signal; the device’s clock read { $read }.
tap-note-back = { $note } That clock was set back by { $by } afterwards.
tap-note-forward = { $note } That clock was set forward by { $by } afterwards.
tap-what = It was tapped without signal. When it came, the log said otherwise and did not take it. One of the two is to be put right by somebody who knows.
tap-device = On the device
tap-log = In the log
tap-log-none = The log has nothing about it.
tap-by = { $who } tapped, { $time }:
tap-read = The device’s own clock read { $time }.
tap-not-taken = Not taken: { $why }
tap-unclear = the form “{ $form }”
tap-enter = Enter it with its time
matter-not-taken = Tapped without signal, and not taken

## The board as it changes, the wall, the day

group-known = Over, and somebody knows
known-go = I know of it
known-by = { $who } knows, { $when }: { $reason }
known-reason = seen on the board
filter-title = Show only
filter-only = Only { $what }
filter-all = Show everything
boards-title = All shops
boards-to = All shops
wall-to = On the wall
wall-title = Wall
wall-more = { $n } more
wall-soon = in { $minutes } min: { $what }
wall-sound = Touch once to allow sound
wall-sound-off = sound is off
wall-sound-on = sound is on
wall-sleeps = This page cannot keep the screen awake: set the screen to stay on, or open it over https.
day-to = The day
day-title = The day, { $date }
day-before = The day before
day-after = The day after
day-on = Date
day-go = Show
day-item = Item
day-strip = Where it was over the day
day-empty = Nothing was there on that day.
day-none = There is no such day yet. Write it like 2026-05-02.
day-cut = Only the first { $n } are shown; the record has all of them.
day-closed = closed { $time }
day-legend = Solid: out. Hairline: cold. The block at the left: what came with others and what was before that day. The notch: discard by.
shop-leads = Told before a limit
shop-leads-what = So long before an item’s next limit the wall calls, and the streams say so. The limits themselves don’t change.
shop-leads-minutes = Minutes before
shop-leads-nth = Minutes before, { $n }
shop-leads-are = { $minutes } minutes before
shop-leads-bad = Give 1 to { $count } whole numbers of minutes, each from 1 to { $most }.

## The record

record-title = Record
record-of-day = The record of { $from }
record-of = The record, { $from } to { $to }
record-shop = { $shop }. Local times of { $zone }, both dates included; each time says how far it is from UTC.
record-only = Only: { $only }.
record-only-one = { $what }: { $name }
record-made = Made { $when }. The ledger then ended with entry { $seq }, { $digits }: the same number and digits stand on labels printed that moment.
record-ledger = ledger to entry { $seq }, { $digits }
record-items = { $n ->
    [one] 1 item was there.
   *[other] { $n } items were there.
 }
record-choose = Other dates, or only some of it
record-from = From, included
record-to = To, included
record-any = All
record-place = Place
record-item = Item’s id
record-all-made-from = An item’s id, with all that was made from it
record-show = Show
record-copies = Take a copy
record-copy-a4 = PDF, A4
record-copy-letter = PDF, Letter
record-copy-csv = Table (CSV): items
record-copy-cold = Table (CSV): cold places
record-copy-jsonl = Entries (JSON Lines), to be verified elsewhere
record-parts = Parts of the record
record-part-items = Items
record-part-cold = Cold places
record-part-days = Days and signatures
record-part-setup = What was corrected in the set-up and in decisions
record-part-unknown = What this record does not know
record-pages = Pages
record-page = Page { $page } of { $pages }
record-before = Page before
record-after = Next page
record-none = No item was there.
record-cold-none = No reading, and no failure of the cold.
record-lines-of = Lines of { $name }
record-total = Time out in all
record-col-line = Line
record-col-out = Out
record-col-where = Where, by whom
record-col-back = Back
record-col-span = This line
record-col-sum = In all
record-col-place = Place
record-col-when = When
record-col-what = What was so
record-col-by = By whom
record-col-corrected = Corrected
record-col-day = Day
record-col-signed = Looked through by
record-still-out = still out
record-still = still
record-came = came with { $from }, { $place }
record-product = Product
record-lot = Lot
record-count = How many
record-made-from = Made from
record-rules = Rules
record-begun = Begun
record-first-out = First out
record-discard-by = Discard by, as computed
record-marked = As marked
record-mark = { $until } (copy { $copy }, { $how }, { $at }, { $by })
record-readings = Food temperatures
record-reading = { $value } at { $when }, { $by }
record-reading-rack = { $value } at { $when }, { $by }, read at { $other }
record-ended = Ended
record-closed = { $how } { $when }, { $by }
record-closed-some = { $count } of them { $how } { $when }, { $by }
record-deviations = Otherwise than the rules ask
record-decided = Decided
record-decision = { $what } { $when }, { $by }: “{ $reason }”
record-lates = Written down late
record-late = entry { $seq } ({ $kind }): { $span } late, { $by }
record-entered-late = written { $span } later
record-reviewed = Its first day looked through by
record-signed = { $by }, { $when }
record-unsigned = nobody yet
record-entry = Entry in the ledger
record-entry-hash = { $seq }, { $digits }
record-at-in-by = { $when }, { $place }, { $by }
record-over = Past its time since { $since } ({ $rule }). What became of it: { $became }
record-nothing-became = nothing yet
record-within = Within
record-struck = Entry { $seq } ({ $kind }, { $at }) was corrected by { $by }, { $when }: “{ $reason }”.
record-change = { $what }: was { $was }, is { $now }
record-nothing = nothing
record-void = struck out, counts as not written
record-lapse = the cold failed until { $to }; there then: { $items }
record-lapse-none = the cold failed until { $to }; nothing was there then
record-above = warmer than { $limit } until { $to }; { $warmest } at the most
record-unread = not read for over a day, until { $to }
record-beside = { $read }; { $apart } apart from probe { $probe }, which read { $probed } at { $when }
record-unknown-moves = A move that nobody recorded: out without an entry counts as cold.
record-unknown-warmth = How warm the food was, but where a reading says so.
record-unknown-cold = Whether a cold place was cold between two readings.
record-unknown-labels = Whether the label on the box is the one that was recorded.
record-unknown-who = Who really tapped, where a phone was handed on without switching.
record-unknown-clock = Whether the server’s clock was right: times “written” are its times.
record-unknown-true = Whether what was written was true. The chain shows that nothing was changed after it was written, and no more.
record-bad-id = `{ $name }` is not an id.
record-bad-date = `{ $name }` is a date like 2026-05-02.
record-from-after-to = `from` comes after `to`.
record-unknown-id = There is no { $what } `{ $id }`.
record-pdf-items = { $are } items were there; a PDF takes { $most }. Name fewer dates, a product or a place, or take the table instead.
record-pdf-cold = The cold places have more than { $most } lines; a PDF takes no more. Name fewer dates, or take the table instead.
record-other-dates = This access is for the record of { $from } to { $to } alone.
record-of-item = Its record
record-of-made = The record of all that was made from it

## An inspector’s access

access-title = Inspector’s access
access-what = An inspector opens the link on a phone of their own and reads everything of this shop, for 24 hours. Nothing can be written by it, and each page that is opened is noted below.
access-go = Make the link
access-more = For other hours, or for some dates only
access-name = For whom, if it is to be noted
access-hours = Hours
access-dates-hint = Left empty: every date.
access-made-title = The link
access-made-what = Let it be scanned with the phone’s own camera, now: it isn’t shown again.
access-code-alt = The code of the link
access-list = Links that were made
access-none = None yet.
access-unnamed = Link
access-until = good until { $time }
access-over = over since { $time }
access-revoked = ended { $time }
access-made = Made by { $by }, { $time }.
access-within = Only for { $from } to { $to }.
access-unused = Nothing was opened by it yet.
access-used = { $at }: { $what }
access-used-often = { $at }: { $what }, { $times } times
access-used-link = { $at }: the link itself
access-used-more = { $at }: { $times } pages more
access-revoke = End it
access-bad-hours = That is no number of hours a link is good for.
access-bad-hours-next = Give a whole number, at most 336.
access-bad-dates = Those are no two dates, the first before the last.
access-bad-dates-next = Give both, or neither.
access-other-dates = This access is for the record of some dates alone.
inspect-title = Inspection
inspect-enter-what = This lets this phone read the shop’s record. It can write nothing. What is opened is noted.
inspect-code = Code of the link
inspect-enter-go = Open the record
inspect-unknown = There is no such link, or it is over.
inspect-unknown-next = Ask the shop’s manager for another.
inspect-until = This access ends { $time }. Each page that is opened is noted.
inspect-within = It is for the record of { $from } to { $to } alone.
inspect-over = Past its time now
inspect-over-none = Nothing is.
inspect-over-one = { $place }, since { $since }
inspect-today = Today’s log
inspect-label = Find by label
inspect-label-hint = The ten letters and figures of a tag, or an item’s id. A code on a label opens with the phone’s camera.
inspect-find = Find
inspect-no-label = Nothing here has that label.
inspect-no-label-next = Look at it again: ten letters and figures, or an item’s id.
inspect-other = Other dates

## Checking a copy of the record

proof-title = Check this record
proof-what = A copy that was taken earlier: is it whole, and does the ledger still say the same? At most 8 MB.
proof-file = The copy, entries (JSON Lines) or table (CSV)
proof-go = Check it
proof-result = What was found
proof-said = { $agree } of { $all } rows agree with the ledger as it is now.
proof-holds = { $name }: holds
proof-broken = { $name }: broken. { $why }.
proof-line = { $about }, line { $n }
proof-file-line = line { $n } of the file
proof-entries = { $count ->
    [one] { $about }, 1 entry
   *[other] { $about }, { $count } entries
 }
proof-agrees = agrees
proof-unreadable = cannot be read
proof-absent = not in the ledger: { $entries }
proof-other = the ledger has something else: { $entries }
proof-differs = the same entry, but otherwise by now: { $columns }
proof-more = And { $n } rows more.
proof-no-record = That is no copy of a record.
proof-no-record-next = Choose the file as it was downloaded, unchanged.
proof-torn = The copy breaks off or was changed at line { $n }.
proof-nothing = Nothing was sent.
proof-nothing-next = Choose a file, or type the number and digits of a label.
proof-head = A label, or a paper’s foot
proof-head-what = Each carries the number of the ledger’s last entry as it was printed, and 12 digits. If they still stand in the ledger, nothing up to there was changed or removed.
proof-seq = Number of the entry
proof-digits = Its digits
proof-head-go = Look it up
proof-head-holds = Entry { $seq } still begins with { $digits }.
proof-head-broken = It does not hold: { $why }.
proof-bad-head = Those are no number and digits.
proof-bad-head-next = Type the number, and 12 digits from 0 to 9 and a to f.
proof-cannot = None of this shows that an entry was true, only that it wasn’t changed.

## The server's clock, in the record

record-part-clocks = The server’s clock
record-clock-what = Written beside the ledger, not into it: these lines are no part of its chain.
record-clock-none = Neither a start nor a jump.
record-clock-first = started for the first time
record-clock-start = started, { $span } after it was last seen
record-clock-start-back = started with a clock { $span } earlier than when it was last seen
record-clock-stop = stopped
record-clock-on = jumped forward by { $span }
record-clock-back = jumped back by { $span }

## A plan

plan-title = Plan ahead
plan-what = Where will it be, and when? Each time is the next one after the one before. Nothing of this is recorded.
plan-at = Move { $n }: at
plan-to = Move { $n }: to
plan-serve = Served at
plan-on = On, if not the next time it is that late
plan-go = Work it out
plan-comes-to = What it comes to when served
plan-served = { $time }: out { $span } in all by then
plan-turn = from { $time }: { $verdict }
plan-leaving = It may leave the cold from { $from } on, until { $to } at the latest.
plan-leaving-never = Even if it leaves the cold as late as it can, its time is over when it is served.
plan-slack = It may be served { $span } later than that, left where it is then.
plan-over = Its time is over before it is served.
plan-no-limit = Left where it is then, no limit comes nearer.
plan-counts = Counted as if each move is made on time, with the air as it is known now. Guidance only.
plan-bad-times = The plan does not fit together: each move has a time and a place, in order, and is before it is served; at most two weeks ahead.

## Trusting a shop's own authority

trust-title = Trust this shop's connection
trust-what = This shop has made its own certificate, so that what phones and the computer say to each other can be read by nobody else on the network. Each phone has to be told once that it may trust it.
trust-get = Take the certificate
trust-compare = Compare it first
trust-compare-what = When it was made, the computer printed the same line (SHA-256). If a phone shows another one, don't trust it and tell the manager.
trust-ios-first = Open this page in the browser that came with the phone, take the certificate, and allow the profile.
trust-ios-second = Settings, General, VPN and device management: install the profile.
trust-ios-third = Settings, General, About, Certificate trust settings: turn it on.
trust-android-first = Take the certificate.
trust-android-second = Settings, Security, Encryption and credentials, Install a certificate, CA certificate: choose the file. (What it is called differs from phone to phone.)
trust-then = Then open the shop here
trust-undo = It can be taken off the same way again. It speaks for this shop's own addresses and for nothing else.
trust-nothing = Here is only /trust. The shop itself is at { $address }.

## The built-in rules' names; in English as the book has them

book-house-2h-4h = Back in the cold within two hours, four hours in all
book-sum-2h-4h = Two hours, four hours, added up
book-us-time-4h = Time as a control, four hours from first removal
book-us-prep-then-4h = Preparation adds up, one clock from display, four hours together
book-us-time-6h = Time as a control, six hours from first removal, never above 70 °F
book-us-cooling = Cooling cooked bases and what is mixed from ambient ingredients
book-uk-display-4h = One display of less than four hours
book-two-hour = Two hours, one hour above 90 °F
book-banded-70f = Four hours, two hours above 70 °F
book-keep-7d = Seven days, the day it was made being the first
