-- One row per set from its live rows. disagrees: some row says something else than another, or leaves it out. Where the rows of a set disagree, the latest row of the best standing is taken;
-- for times the earliest among those of the best standing.
create or replace temp table set_values as
select
  row_set,
  min(line) as keep_line,
  min(dead) as dead,
  min(standing) filter (where dead = 0) as standing,
  max(birth) as birth,
  max(age) as age,
  max(unit) as unit,
  min(collected) as collected,
  min(collected_day) as collected_day,
  min(received) as received,
  min(received_day) as received_day,
  min(loaded) as loaded,
  min(positive) as positive,
  max(collector) as collector,
  max(site) as site,
  max(method) as method,
  max(reject) as reject,
  min(content) <> max(content) as disagrees
from live
group by row_set;

create or replace temp table disagreeing as
with contradicting as (
  select row_set
  from live
  semi join (select row_set from set_values where disagrees) using (row_set)
  group by row_set
  having min(unit) <> max(unit) or min(collected) <> max(collected) or min(received) <> max(received)
    or min(collected_day) <> max(collected_day) or min(birth) <> max(birth)
    or min(collector) <> max(collector) or min(site) <> max(site) or min(method) <> max(method)
    or min(dead) <> max(dead) or min(standing) <> max(standing)
),
rows_of as (
  select l.*, max(l.standing) over (partition by l.row_set) as best
  from live l
  join set_values v using (row_set)
  semi join contradicting using (row_set)
  where l.dead = 0 or v.dead > 0
)
select
  row_set,
  min(line) as keep_line,
  arg_max(birth, standing * 1e12 + line) as birth,
  arg_max(age, standing * 1e12 + line) as age,
  arg_max(unit, standing * 1e12 + line) as unit,
  coalesce(min(collected) filter (where standing = best), min(collected)) as collected,
  coalesce(min(collected_day) filter (where standing = best), min(collected_day)) as collected_day,
  coalesce(min(received) filter (where standing = best), min(received)) as received,
  coalesce(min(received_day) filter (where standing = best), min(received_day)) as received_day,
  arg_max(collector, standing * 1e12 + line) as collector,
  arg_max(site, standing * 1e12 + line) as site,
  arg_max(method, standing * 1e12 + line) as method,
  min(unit) <> max(unit) as units_differ,
  min(collected) <> max(collected) or min(collected_day) <> max(collected_day) as times_differ,
  min(birth) <> max(birth) as births_differ,
  min(collector) <> max(collector) as collectors_differ
from rows_of
group by row_set;

update set_values v
set
  keep_line = d.keep_line, birth = d.birth, age = d.age, unit = d.unit,
  collected = d.collected, collected_day = d.collected_day, received = d.received, received_day = d.received_day,
  collector = d.collector, site = d.site, method = d.method
from disagreeing d
where d.row_set = v.row_set;
