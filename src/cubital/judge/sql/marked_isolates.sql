-- Isolates whose keys carry what was decided about their set; a later decision takes the place of an earlier one.
create or replace temp view marked_isolates as
select i.set_id, i.bottle, i.negated, {key} as organism_key
from isolates i
left join decided d on d.set_id = i.set_id
