-- Who acts, on what, and how often they guessed wrong. People belong to no one shop, nor do their sign-ins; what does
-- is keyed by site first.

-- Names stand here and never in the ledger, so that they can be erased: the row stays, for its id.
create table person (
  person text not null primary key,
  name text not null,             -- empty once erased
  sign_in text unique,            -- the name as the sign-in by password compares it; only with a password
  password text,                  -- argon2id, as a PHC string
  pin text,                       -- the same
  created_at bigint not null
);

-- Who works where, and as what.
create table member (
  site text not null,
  person text not null references person (person),
  role text not null check (role in ('staff', 'manager', 'inspector')),
  joined_at bigint not null,
  disabled_at bigint,
  primary key (site, person)
);
create index member_person on member (person);

-- A browser that a manager enrolled. Its code works once; its cookie's secret is kept hashed.
create table device (
  site text not null,
  device text not null,
  name text not null,
  code text unique,               -- hashed; gone once used
  code_until bigint,
  secret text unique,             -- hashed; there once enrolled
  created_at bigint not null,
  enrolled_at bigint,
  revoked_at bigint,
  primary key (site, device)
);

-- Who gave the PIN on which device: for some hours they are switched to by name alone.
create table pin_given (
  site text not null,
  device text not null,
  person text not null,
  given_at bigint not null,
  primary key (site, device, person)
);

-- Sign-ins. Looked for by what the cookie carries, before the shop is known.
create table session (
  session text not null primary key, -- hashed
  person text not null references person (person),
  how text not null check (how in ('pin', 'name', 'password', 'token')),
  site text,                      -- the device's, where it was on an enrolled one
  device text,
  begun_at bigint not null,
  seen_at bigint not null
);
create index session_person on session (person);

-- Wrong guesses in a row: at a person's PIN or password, on a device, from an address.
create table tried (
  what text not null check (what in ('pin', 'password', 'device', 'address')),
  who text not null,
  failures bigint not null,
  last_at bigint not null,
  until_at bigint not null,      -- not heard before this
  primary key (what, who)
);
