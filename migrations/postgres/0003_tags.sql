-- Tags, and racks. Neither is in the ledger: a tag only leads to an item, and a rack's move is a move of each item.

-- A random code on a label, printed once. `sheet` is what was made and printed together.
create table tag (
  site text not null references site (site),
  tag text not null unique,
  sheet text not null,
  made_at bigint not null,
  made_by text not null,
  primary key (site, tag)
);
create index tag_sheet on tag (site, sheet);

create table rack (
  site text not null references site (site),
  rack text not null,
  name text not null,
  made_at bigint not null,
  made_by text not null,
  primary key (site, rack)
);

-- What a tag has been on, one after the other: an item or a rack. Labels are washed and used again.
create table tie (
  site text not null,
  tag text not null,
  n bigint not null,             -- 1, 2, 3 … per tag
  item text,
  rack text,
  tied_at bigint not null,
  tied_by text not null,
  untied_at bigint,              -- none while it is on it
  primary key (site, tag, n),
  foreign key (site, tag) references tag (site, tag),
  foreign key (site, rack) references rack (site, rack),
  check ((item is null) <> (rack is null))
);
create unique index tie_now on tie (site, tag) where untied_at is null;
create index tie_item on tie (site, item) where item is not null;
create index tie_rack on tie (site, rack) where rack is not null;

-- What stood on which rack, and when.
create table on_rack (
  site text not null,
  item text not null,
  n bigint not null,             -- 1, 2, 3 … per item
  rack text not null,
  put_at bigint not null,
  put_by text not null,
  taken_at bigint,               -- none while it stands there
  primary key (site, item, n),
  foreign key (site, rack) references rack (site, rack)
);
create unique index on_rack_now on on_rack (site, item) where taken_at is null;
create index on_rack_rack on on_rack (site, rack, put_at) where taken_at is null;
