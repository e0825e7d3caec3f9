-- The language somebody reads best, as BCP 47 has it; none where they never chose one.

alter table person add column language text;
