-- What time alone brings, and how long before a limit a shop wants to hear of it.

-- When an item's clock reaches something, as things stand: written anew with whatever changes a standing. Nothing
-- here is the truth; all of it can be worked out again from the ledger.
create table due (
  site text not null references site (site),
  subject text not null,          -- the item
  threshold text not null,        -- the verdict and how many minutes before it: `discard-15`
  at integer not null,            -- when that is reached
  done_at integer,                -- when it was told; none before
  primary key (site, subject, threshold)
) strict, without rowid;
create index due_next on due (site, at) where done_at is null;

-- Minutes before a limit at which a shop is told. None at all: the program's own.
create table lead_time (
  site text not null references site (site),
  minutes integer not null,
  primary key (site, minutes)
) strict, without rowid;
