-- The clock of each server: when it was started and stopped, and each jump of it. Beside the ledger, since no shop's entry
-- says it and a server may serve many; shown in the record, and no part of any chain.

create table clock_note (
  server text not null,           -- made anew at each start
  at bigint not null,            -- by that clock, after a jump
  what text not null check (what in ('start', 'stop', 'jump')),
  ms bigint not null,            -- a start: since a server was last seen, less than 0 if the clock has gone back; a jump: how far
  primary key (server, at, what)
);
create index clock_note_at on clock_note (at);

-- When each server was last seen; so a start knows how long nothing was.
create table clock_seen (
  server text not null primary key,
  at bigint not null
);
