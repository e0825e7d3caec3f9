-- Addresses that show one item to whoever has it now, without signing in, and perhaps let them say where it stands.

create table handover (
  site text not null references site (site),
  link text not null,             -- stands for whoever uses it: the `by` of what they record
  item text not null,
  code text not null unique,      -- hashed
  name text not null,             -- who has it, as the shop calls them; may be empty
  writes bigint not null,        -- 1: they may record where it stands
  made_by text not null,
  made_at bigint not null,
  until_at bigint not null,
  revoked_at bigint,
  primary key (site, link)
);
