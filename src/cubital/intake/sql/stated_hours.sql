-- The instants that the file itself states for sets in a repeated hour.
create or replace temp table stated_hours as
select
  l.row_set,
  min(g.collected_at) filter (where l.collected = v.collected) as collected_at,
  min(g.received_at) filter (where l.received = v.received) as received_at
from lines l
join set_values v using (row_set)
join (select rowid as line, {collected} as collected_at, {received} as received_at from staged) g using (line)
where list_contains($sets, l.row_set)
group by l.row_set
