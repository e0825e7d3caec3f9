-- The written procedure. What puts a version in force is an entry of the ledger that carries the hash of its text.

-- What a manager has typed and not yet approved.
create table procedure_draft (
  site text not null primary key references site (site),
  text text not null,             -- JSON, by field
  saved_at bigint not null,
  saved_by text not null
);

-- Kept for ever as it was approved.
create table procedure_version (
  site text not null references site (site),
  version bigint not null,        -- 1, 2, 3 …
  text text not null,             -- the whole document, JSON
  hash text not null,             -- SHA-256 of it
  review_on text not null,        -- a date
  made_at bigint not null,
  made_by text not null,
  primary key (site, version)
);

create function procedure_stays() returns trigger language plpgsql as $$
begin
  raise exception 'a version is never changed or deleted';
end $$;
create trigger procedure_stays before update or delete on procedure_version for each row execute function procedure_stays();
create trigger procedure_remains before truncate on procedure_version for each statement execute function procedure_stays();

-- Who has read which version, and when. Ids alone: a name can be erased.
create table procedure_read (
  site text not null,
  version bigint not null,
  person text not null,
  read_at bigint not null,
  primary key (site, version, person),
  foreign key (site, version) references procedure_version (site, version)
);
create index procedure_read_person on procedure_read (site, person, version);
