-- Set while a database is filled from another: nothing is served from one that is half there.

create table moving (
  one bigint primary key check (one = 1),
  begun_at bigint not null
);
