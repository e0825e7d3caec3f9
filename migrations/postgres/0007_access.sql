-- An inspector's access: a link that a manager made, good for a while, and what was looked at by it.

create table access (
  site text not null references site (site),
  access text not null,           -- the id that stands for whoever uses it
  name text not null,             -- what the manager called it; may be empty
  code text not null unique,      -- hashed
  from_day bigint,               -- only these local dates, counted since 1970; none for all
  to_day bigint,
  made_by text not null,
  made_at bigint not null,
  until_at bigint not null,
  revoked_at bigint,
  primary key (site, access)
);

-- The browsers that were let in by it. Looked for by what the cookie carries, before the shop is known.
create table access_session (
  session text not null primary key, -- hashed
  site text not null,
  access text not null,
  begun_at bigint not null
);

-- What was opened, a line for each page and minute.
create table access_use (
  site text not null,
  access text not null,
  at bigint not null,            -- the minute's beginning
  what text not null,             -- the page's address behind the shop's
  times bigint not null,
  primary key (site, access, at, what)
);
