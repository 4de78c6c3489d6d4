-- Every isolate with the facts of its set, as they are stored.
create or replace temp view isolate_facts as
select i.set_id, {key} as organism_key, i.negated, i.leads, i.mixed, {facts}
from set_isolates i
{decided_join}
