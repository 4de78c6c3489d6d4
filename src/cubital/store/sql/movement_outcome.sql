-- What the stays changed: patients and starts, and the sets that now belong to another unit.
select
  count(*) filter (fate = 'added') as added,
  count(*) filter (fate = 'changed') as changed,
  count(*) filter (fate = 'unchanged') as unchanged,
  (select count(*) from moving_sets) as moved_sets
from moving_fates
