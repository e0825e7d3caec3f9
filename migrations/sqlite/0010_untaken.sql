-- What was tapped on a device without signal and, once it came, was refused by the ledger: the other story. Beside the
-- ledger, since the ledger says only what it took; never changed, and listed until somebody decides about it.

create table untaken (
  site text not null references site (site),
  tap text not null,              -- the page's key, what its form does and to which item
  person text not null,           -- who tapped
  device text,                    -- the enrolled one that it came from
  item text not null,
  form text not null,             -- what the form does: `move`, `coat` …
  happened_at integer not null,   -- by the server's clock
  device_at integer not null,     -- what the device's own clock read
  received_at integer not null,
  fields text not null,           -- as sent, JSON: [[name, value] …]
  entries text not null,          -- what it would have written, JSON; [] where that could not be said
  code text not null,             -- why it was refused
  detail text not null,           -- the same in a sentence
  primary key (site, tap)
) strict, without rowid;
create index untaken_when on untaken (site, received_at);

create trigger untaken_stays before update on untaken begin select raise (abort, 'what was not taken is never changed'); end;
create trigger untaken_remains before delete on untaken begin select raise (abort, 'what was not taken is never deleted'); end;
create trigger untaken_once before insert on untaken
when exists (select 1 from untaken where site = new.site and tap = new.tap)
begin select raise (abort, 'what was not taken is never replaced'); end;
