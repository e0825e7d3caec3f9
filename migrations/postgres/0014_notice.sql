-- Who is told what, and what is on its way to them: a row of the outbox is written with what it is about, and marked once it
-- was delivered. What is sent twice bears the same id both times.

create table notice_target (
  site text not null references site (site),
  target text not null,
  name text not null,
  way text not null,              -- `mail`, `webhook`
  address text not null,
  secret text not null,           -- what a webhook is signed with
  topics text not null,           -- `discard cold` …
  lead_minutes bigint not null,
  quiet_from bigint,             -- minutes of the local day
  quiet_to bigint,
  closing bigint,
  lang text not null,
  made_by text not null,
  made_at bigint not null,
  ended_at bigint,
  ended_why text,
  primary key (site, target)
);

create table outbox (
  site text not null references site (site),
  notice text not null,           -- its id, as receivers see it
  target text not null,
  about text not null,            -- what makes it one thing and no other
  subject text not null,
  text text not null,
  body text not null,             -- JSON
  made_at bigint not null,
  next_at bigint not null,       -- when it is tried next
  tries bigint not null,
  sent_at bigint,
  given_up_at bigint,
  said text,                      -- what went wrong last
  primary key (site, notice),
  unique (site, target, about)
);
create index outbox_next on outbox (next_at) where sent_at is null and given_up_at is null;
create index outbox_made on outbox (site, made_at);
