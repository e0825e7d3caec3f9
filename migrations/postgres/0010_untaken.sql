-- What was tapped on a device without signal and, once it came, was refused by the ledger: the other story. Beside the
-- ledger, since the ledger says only what it took; never changed, and listed until somebody decides about it.

create table untaken (
  site text not null references site (site),
  tap text not null,              -- the page's key, what its form does and to which item
  person text not null,           -- who tapped
  device text,                    -- the enrolled one that it came from
  item text not null,
  form text not null,             -- what the form does: `move`, `coat` …
  happened_at bigint not null,    -- by the server's clock
  device_at bigint not null,      -- what the device's own clock read
  received_at bigint not null,
  fields text not null,           -- as sent, JSON: [[name, value] …]
  entries text not null,          -- what it would have written, JSON; [] where that could not be said
  code text not null,             -- why it was refused
  detail text not null,           -- the same in a sentence
  primary key (site, tap)
);
create index untaken_when on untaken (site, received_at);

create function untaken_stays() returns trigger language plpgsql as $$
begin
  raise exception 'what was not taken is never changed or deleted';
end $$;
create trigger untaken_stays before update or delete on untaken for each row execute function untaken_stays();
create trigger untaken_remains before truncate on untaken for each statement execute function untaken_stays();
