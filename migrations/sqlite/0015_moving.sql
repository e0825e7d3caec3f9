-- Set while a database is filled from another: nothing is served from one that is half there.

create table moving (
  one integer primary key check (one = 1),
  begun_at integer not null
) strict;
