-- The ledger and what is worked out from it. Every table is keyed by site first.

create table site (
  site text not null primary key,
  head integer not null,          -- the last entry's seq
  hash text not null              -- and its hash; 64 zeros before the first
) strict, without rowid;

-- What happened, one canonical JSON line each, `prev` and `hash` included. `item`, `place` and `target` repeat what
-- the line says, so that it can be found; a correction carries the item and place of the entry it is about.
create table entry (
  site text not null references site (site),
  seq integer not null,
  kind text not null,
  item text,
  place text,
  target integer,
  air_at integer,                -- of a reading of a place's air: when
  line text not null,
  primary key (site, seq)
) strict, without rowid;
create index entry_item on entry (site, item) where item is not null;
create index entry_place on entry (site, place) where place is not null and air_at is null;
create index entry_air on entry (site, air_at) where air_at is not null;
create index entry_kind on entry (site, kind) where kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review');
create index entry_target on entry (site, target) where target is not null;

create trigger entry_stays before update on entry begin select raise (abort, 'an entry is never changed'); end;
create trigger entry_remains before delete on entry begin select raise (abort, 'an entry is never deleted'); end;
-- `insert or replace` deletes without firing the trigger above unless recursive_triggers is on; this one always fires.
create trigger entry_once before insert on entry
when exists (select 1 from entry where site = new.site and seq = new.seq)
begin select raise (abort, 'an entry is never replaced'); end;

-- One row an item, so that open ones are found at the start and closed ones keep their last standing.
create table item (
  site text not null references site (site),
  item text not null,
  begun_at integer not null,
  closed_at integer,
  standing text,                  -- of a closed item, as JSON
  rank integer not null,         -- 0 discard, 1 use, 2 return, 3 within: most urgent first
  left_ms integer not null,      -- of its standing; the largest number for none
  primary key (site, item)
) strict, without rowid;
create index item_open on item (site, closed_at);
create index item_urgency on item (site, rank, left_ms, item) where standing is not null;

-- What was ever said to be made from what.
create table made_from (
  site text not null references site (site),
  parent text not null,
  child text not null,
  primary key (site, parent, child)
) strict, without rowid;
create index made_from_child on made_from (site, child);

-- Answers already given, by idempotency key; kept seven days.
create table answer (
  site text not null references site (site),
  actor text not null,
  key text not null,
  body text not null,             -- SHA-256 of the request
  answer text not null,           -- given again, word for word
  answered_at integer not null,
  primary key (site, actor, key)
) strict, without rowid;
create index answer_age on answer (answered_at);

-- Bearer tokens, hashed. `site` is '*' for a token of all shops.
create table token (
  site text not null,
  token text not null,
  name text not null,
  role text not null check (role in ('staff', 'manager', 'inspector', 'probe')),
  hash text not null unique,
  created_at integer not null,
  revoked_at integer,
  primary key (site, token)
) strict, without rowid;

-- What the planner is to expect, since it never sees a full ledger when it plans: without this it walks the whole
-- primary key to find an item's entries. The numbers are a year of a busy shop's, in the form `analyze` writes.
analyze sqlite_schema;
insert into sqlite_stat1 (tbl, idx, stat) values
  ('entry', 'entry', '1000000 1000000 1'), ('entry', 'entry_item', '900000 900000 12'),
  ('entry', 'entry_place', '500 500 50'), ('entry', 'entry_air', '70000 70000 2'), ('entry', 'entry_kind', '200 200 30'),
  ('entry', 'entry_target', '1000 1000 1'), ('item', 'item', '80000 80000 1'),
  ('item', 'item_open', '80000 80000 20'), ('item', 'item_urgency', '80000 80000 20000 10 1'),
  ('made_from', 'made_from', '100000 100000 20 1'), ('made_from', 'made_from_child', '100000 100000 2 1');
analyze sqlite_schema;
