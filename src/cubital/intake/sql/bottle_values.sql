-- One row per set and bottle. Where rows of equal standing say growth and no growth of one bottle, the later one holds;
-- such bottles are rare and are grouped anew.
create or replace temp table bottle_values as
select
  row_set,
  bottle,
  min(line) as line,
  max(fill_ml) filter (where dead = 0) as fill_ml,
  max(growth) filter (where dead = 0) as growth,
  min(growth) filter (where dead = 0 and growth > 0) as least_growth
from live
group by row_set, bottle;

create or replace temp table conflicts as
select l.row_set, l.bottle, arg_max(l.growth, l.line) as growth
from bottle_values b
join live l using (row_set, bottle)
where b.bottle > 0 and b.growth > b.least_growth and l.dead = 0 and l.growth > 0
group by l.row_set, l.bottle;

insert into replaced
select l.line, 'superseded'
from live l
join conflicts c using (row_set, bottle)
where l.dead = 0 and l.growth > 0 and l.growth <> c.growth;

delete from bottle_values where (row_set, bottle) in (select (row_set, bottle) from conflicts);

insert into bottle_values
select
  l.row_set,
  l.bottle,
  min(l.line),
  max(l.fill_ml) filter (where l.dead = 0),
  max(l.growth) filter (where l.dead = 0),
  min(l.growth) filter (where l.dead = 0 and l.growth > 0)
from live l
join conflicts c using (row_set, bottle)
group by l.row_set, l.bottle
