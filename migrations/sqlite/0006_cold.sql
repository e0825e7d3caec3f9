-- How the cold of places is watched, and which places a probe may write.

-- A place's own figures; without a row the program's.
create table watch (
  site text not null references site (site),
  place text not null,
  limit_tenths integer not null,  -- tenths of a degree: its air is to be no warmer
  limit_unit text not null check (limit_unit in ('C', 'F')),
  grace_minutes integer not null, -- how long it may be warmer before a lapse is proposed
  silent_minutes integer not null, -- how long its probe may say nothing before one is
  primary key (site, place)
) strict, without rowid;

-- The places that a probe's token may write; without a row, every place of its shop. They stay when it is revoked: they
-- say where it was listened for until then.
create table token_place (
  site text not null,
  token text not null,
  place text not null,
  primary key (site, token, place),
  foreign key (site, token) references token (site, token)
) strict, without rowid;

-- One place's air, the latest first.
create index entry_air_place on entry (site, place, air_at) where air_at is not null;
insert into sqlite_stat1 (tbl, idx, stat) values ('entry', 'entry_air_place', '70000 70000 14000 2');
analyze sqlite_schema;
