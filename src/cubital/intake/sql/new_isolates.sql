-- Every organism named for a set, once per bottle; text that names none stays, as unmatched. A stain's phrase gives way to
-- the organism that grew in the same bottle.
with named as (
  select
    l.row_set,
    case when l.bottle > 0 then l.bottle::integer end as bottle,
    o.organism_key,
    o.negated,
    case when o.organism_key = '' then o.raw_text else '' end as unread,
    arg_min(o.raw_text, l.line) as raw_text,
    arg_min(o.match, l.line) as match,
    bool_or(o.stain) as stain
  from live l
  join reading_organisms o using (reading)
  where l.dead = 0
  group by all
)
select row_set, bottle, organism_key, raw_text, match, negated
from named n
where not (
  n.stain and exists (
    select 1 from named m
    where m.row_set = n.row_set and m.bottle is not distinct from n.bottle and not m.stain and not m.negated
  )
)
