-- When an item is meant to be moved next, as whoever moved it last said: a hint beside the ledger, on which no verdict
-- hangs. It belongs to the entry that brought the item where it is, and means nothing any more once it is moved again.

create table come_back (
  site text not null references site (site),
  item text not null,
  entry bigint not null,          -- the entry's seq
  at bigint not null,             -- when it is meant to be moved
  by text not null,               -- who said so
  said_at bigint not null,
  primary key (site, item)
);
