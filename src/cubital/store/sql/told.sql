-- What is told of the sets: the file's bottles and isolates, and what stays of the stored ones beside them.
create or replace temp view merge_told_bottles as
select row_set, bottle, kind, fill_ml, fill_source, grew from new_bottles
union all
from merge_kept_bottles;

create or replace temp view merge_told_isolates as
select row_set, bottle, organism_key, raw_text, match, negated from new_isolates
union all
from merge_kept_isolates
