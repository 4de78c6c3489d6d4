-- The instants that the file itself states for sets in a repeated hour.
create or replace temp table stated_hours as
select
  l.home as row_set,
  min(g.collected_at) filter (where l.collected = v.collected) as collected_at,
  min(g.received_at) filter (where l.received = v.received) as received_at
from coded l
join unsettled_values v on v.row_set = l.home
join (select rowid as line, {collected} as collected_at, {received} as received_at from staged) g using (line)
where l.outside is null
group by l.home
