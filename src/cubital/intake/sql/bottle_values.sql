-- One row per set and bottle. Where rows of equal standing say growth and no growth of one bottle, the later one holds.
create or replace temp table conflicts as
select row_set, bottle, arg_max(growth, line) as growth
from live
where bottle > 0 and dead = 0 and growth > 0
group by row_set, bottle
having min(growth) <> max(growth);

insert into replaced
select l.line, 'superseded'
from live l
join conflicts c using (row_set, bottle)
where l.dead = 0 and l.growth > 0 and l.growth <> c.growth;

create or replace temp table bottle_values as
select
  row_set,
  bottle,
  min(line) as line,
  max(fill_ml) filter (where dead = 0) as fill_ml,
  max(growth) filter (where dead = 0) as growth
from live
group by row_set, bottle
