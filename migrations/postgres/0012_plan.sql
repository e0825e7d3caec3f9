-- Plans that are kept under an order's name, as checklists. None of it is in the ledger until it is done for real.

create table plan (
  site text not null references site (site),
  plan text not null,
  name text not null,             -- the order's
  item text,                      -- none until it is begun for real
  steps text not null,            -- JSON: entries with their times
  serve_at bigint not null,
  head bigint not null,           -- the ledger's when it was made
  made_by text not null,
  made_at bigint not null,
  dropped_at bigint,              -- when somebody said that it is over
  primary key (site, plan)
);
