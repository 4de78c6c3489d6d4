-- Isolates of new sets, of changed sets, and of what else lies in the months of changed sets. Each repeats what the judge
-- asks of its set: the first that is no negation leads, and all are mixed where the set grew different organisms.
with arriving as (
  select i.row_set + {offset} as set_id, {own}, {facts}
  from new_isolates i join merge_arriving s using (row_set) anti join merge_pairs using (row_set)
  union all
  select s.set_id, {own}, {facts}
  from merge_told_isolates i
  join merge_merged s using (row_set)
  semi join (from merge_fates where fate = 'changed') using (row_set)
)
select
  i.set_id, {own},
  not i.negated and row_number() over (partition by i.set_id order by i.negated, i.bottle, i.organism_key) = 1 as leads,
  coalesce(
    min(case when not i.negated then i.organism_key end) over (partition by i.set_id)
      <> max(case when not i.negated then i.organism_key end) over (partition by i.set_id),
    false
  ) as mixed,
  {repeated}
from arriving i
union all
select i.set_id, {own}, i.leads, i.mixed, {repeated}
from stored_isolates i
where i.month in (from merge_affected)
  and i.set_id not in (select set_id from merge_fates where fate = 'changed')
