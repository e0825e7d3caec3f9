-- The written procedure. What puts a version in force is an entry of the ledger that carries the hash of its text.

-- What a manager has typed and not yet approved.
create table procedure_draft (
  site text not null primary key references site (site),
  text text not null,             -- JSON, by field
  saved_at integer not null,
  saved_by text not null
) strict, without rowid;

-- Kept for ever as it was approved.
create table procedure_version (
  site text not null references site (site),
  version integer not null,       -- 1, 2, 3 …
  text text not null,             -- the whole document, JSON
  hash text not null,             -- SHA-256 of it
  review_on text not null,        -- a date
  made_at integer not null,
  made_by text not null,
  primary key (site, version)
) strict, without rowid;

create trigger procedure_stays before update on procedure_version begin select raise (abort, 'a version is never changed'); end;
create trigger procedure_remains before delete on procedure_version begin select raise (abort, 'a version is never deleted'); end;
create trigger procedure_once before insert on procedure_version
when exists (select 1 from procedure_version where site = new.site and version = new.version)
begin select raise (abort, 'a version is never replaced'); end;

-- Who has read which version, and when. Ids alone: a name can be erased.
create table procedure_read (
  site text not null,
  version integer not null,
  person text not null,
  read_at integer not null,
  primary key (site, version, person),
  foreign key (site, version) references procedure_version (site, version)
) strict, without rowid;
create index procedure_read_person on procedure_read (site, person, version);
