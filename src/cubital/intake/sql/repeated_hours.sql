-- The unsettled sets with what is known of their hours. Columns in the order of clocks.DoubtfulTimes.
select
  s.row_set, s.accession, s.collected_local, s.received_local, s.collected_at, s.received_at,
  coalesce(c.repeats and s.collected_local >= c.change_from and s.collected_local < c.change_to, false) as collected_twice,
  coalesce(r.repeats and s.received_local >= r.change_from and s.received_local < r.change_to, false) as received_twice,
  coalesce(case when c.repeats then c.before end, r.before) as before,
  coalesce(case when c.repeats then c.after end, r.after) as after
from unsettled s
left join clock c on c.day = cast(s.collected_local as date) and c.repeats
left join clock r on r.day = cast(s.received_local as date) and r.repeats
