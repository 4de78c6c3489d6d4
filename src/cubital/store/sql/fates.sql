-- What becomes of each set met again: a preliminary result never replaces a final one; the same content is no change.
-- A file taken before says nothing new about a set that a later batch put right.
-- Bottles and isolates are compared by the sum of their hashes, which does not depend on their order and takes little
-- memory; two different contents have the same sum once in 2^64.
create or replace temp table merge_fates as
with old_bottles as (
  select p.row_set, sum(hash(b.bottle, b.kind, b.fill_ml, b.fill_source, b.grew)::hugeint) as content
  from stored_bottles b join merge_pairs p using (set_id)
  group by p.row_set
),
new_bottles_of as (
  select row_set, sum(hash(b.bottle, b.kind, b.fill_ml, b.fill_source, b.grew)::hugeint) as content
  from merge_bottles b
  group by row_set
),
old_isolates as (
  select p.row_set, sum(hash(i.bottle, i.organism_key, i.raw_text, i.match, i.negated)::hugeint) as content
  from stored_isolates i join merge_pairs p using (set_id)
  group by p.row_set
),
new_isolates_of as (
  select row_set, sum(hash(i.bottle, i.organism_key, i.raw_text, i.match, i.negated)::hugeint) as content
  from merge_told_isolates i semi join merge_pairs using (row_set)
  group by row_set
)
select
  m.row_set,
  m.set_id,
  o.month as old_month,
  m.month as new_month,
  o.month = m.month and ob.content is not distinct from nb.content as same_bottles,
  case
    when m.status = 'preliminary' and o.status <> 'preliminary' then 'outdated'
    when row({merged_columns}) is not distinct from row({stored_columns})
     and ob.content is not distinct from nb.content
     and oi.content is not distinct from ni.content then 'unchanged'
    when o.batch > {taken_as} then 'unchanged'
    else 'changed'
  end as fate
from merge_merged m
join merge_stored o using (row_set)
left join old_bottles ob using (row_set)
left join new_bottles_of nb using (row_set)
left join old_isolates oi using (row_set)
left join new_isolates_of ni using (row_set)
