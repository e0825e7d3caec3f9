-- The ledger and what is worked out from it. Every table is keyed by site first.

create table site (
  site text not null primary key,
  head bigint not null,          -- the last entry's seq
  hash text not null              -- and its hash; 64 zeros before the first
);

-- What happened, one canonical JSON line each, `prev` and `hash` included. `item`, `place` and `target` repeat what
-- the line says, so that it can be found; a correction carries the item and place of the entry it is about.
create table entry (
  site text not null references site (site),
  seq bigint not null,
  kind text not null,
  item text,
  place text,
  target bigint,
  air_at bigint,                -- of a reading of a place's air: when
  line text not null,
  primary key (site, seq)
);
create index entry_item on entry (site, item) where item is not null;
create index entry_place on entry (site, place) where place is not null and air_at is null;
create index entry_air on entry (site, air_at) where air_at is not null;
create index entry_kind on entry (site, kind) where kind in ('site', 'place', 'rule', 'product', 'decide', 'approve', 'review');
create index entry_target on entry (site, target) where target is not null;

create function entry_stays() returns trigger language plpgsql as $$
begin
  raise exception 'an entry is never changed or deleted';
end $$;
create trigger entry_stays before update or delete on entry for each row execute function entry_stays();
create trigger entry_remains before truncate on entry for each statement execute function entry_stays();

-- One row an item, so that open ones are found at the start and closed ones keep their last standing.
create table item (
  site text not null references site (site),
  item text collate "C" not null, -- in order of its bytes, as everywhere else, whatever the server's language
  begun_at bigint not null,
  closed_at bigint,
  standing text,                  -- of a closed item, as JSON
  rank bigint not null,         -- 0 discard, 1 use, 2 return, 3 within: most urgent first
  left_ms bigint not null,      -- of its standing; the largest number for none
  primary key (site, item)
);
create index item_open on item (site, closed_at);
create index item_urgency on item (site, rank, left_ms, item) where standing is not null;

-- What was ever said to be made from what.
create table made_from (
  site text not null references site (site),
  parent text not null,
  child text not null,
  primary key (site, parent, child)
);
create index made_from_child on made_from (site, child);

-- Answers already given, by idempotency key; kept seven days.
create table answer (
  site text not null references site (site),
  actor text not null,
  key text not null,
  body text not null,             -- SHA-256 of the request
  answer text not null,           -- given again, word for word
  answered_at bigint not null,
  primary key (site, actor, key)
);
create index answer_age on answer (answered_at);

-- Bearer tokens, hashed. `site` is '*' for a token of all shops.
create table token (
  site text not null,
  token text not null,
  name text not null,
  role text not null check (role in ('staff', 'manager', 'inspector', 'probe')),
  hash text not null unique,
  created_at bigint not null,
  revoked_at bigint,
  primary key (site, token)
);
