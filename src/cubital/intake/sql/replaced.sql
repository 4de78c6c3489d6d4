-- Rows that a later state of the same bottle replaces: a corrected row the final one, a final row the preliminary one,
-- a cancellation what was preliminary. Only sets whose rows differ in standing are looked at.
create or replace temp table replaced as
with mixed as (
  select row_set
  from lines
  where row_set is not null
  group by row_set
  having min(4 * standing + dead) <> max(4 * standing + dead)  -- one of the two differs; dead is 0, 1 or 2
),
rows_of as (
  select l.line, l.row_set, l.bottle, l.standing, l.dead, l.isolate_no
  from lines l
  join mixed using (row_set)
),
by_bottle as (
  select row_set, bottle, max(standing) as best from rows_of group by row_set, bottle
),
by_set as (
  select row_set, max(standing) as best, max(standing) filter (where bottle = 0) as best_of_set from rows_of group by row_set
),
alive as (
  select r.row_set, r.bottle
  from rows_of r
  join by_bottle b using (row_set, bottle)
  where r.standing = b.best and r.dead = 0
  group by all
),
corrected_isolates as (
  select row_set, bottle, list(distinct isolate_no) as numbers
  from rows_of
  where standing = 5 and isolate_no is not null
  group by row_set, bottle
),
judged as (
  select
    r.line,
    case
      when r.standing = 4 and b.best = 5 and i.numbers is not null and r.isolate_no is not null
        then list_contains(i.numbers, r.isolate_no)
      when r.standing < b.best then true
      when r.bottle = 0 and r.standing = 1 and s.best > 1 then true
      when r.bottle <> 0 and r.standing = 1 and s.best_of_set > 1 then true
      else false
    end as superseded,
    r.dead > 0 and exists (select 1 from alive a where a.row_set = r.row_set and a.bottle = r.bottle) as beside_living,
    r.dead
  from rows_of r
  join by_bottle b using (row_set, bottle)
  join by_set s using (row_set)
  left join corrected_isolates i using (row_set, bottle)
)
select
  line,
  case when superseded then 'superseded' when dead = 1 then 'cancelled' else 'rejected' end as reason
from judged
group by line, superseded, beside_living, dead
having superseded or beside_living
