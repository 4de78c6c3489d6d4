-- Sets whose collection or receipt reads an hour that occurs twice. Columns in the order of clocks.DoubtfulTimes.
with times as (
  select
    s.row_set, s.accession, v.collected, v.received, s.collected_at, s.received_at,
    coalesce(c.repeats and v.collected >= c.change_from and v.collected < c.change_to, false) as collected_twice,
    coalesce(r.repeats and v.received >= r.change_from and v.received < r.change_to, false) as received_twice,
    coalesce(case when c.repeats then c.before end, r.before) as before,
    coalesce(case when c.repeats then c.after end, r.after) as after
  from new_sets s
  join set_values v using (row_set)
  left join clock c on c.day = cast(v.collected as date) and c.repeats
  left join clock r on r.day = cast(v.received as date) and r.repeats
  where c.day is not null or r.day is not null
)
select * from times where collected_twice or received_twice
