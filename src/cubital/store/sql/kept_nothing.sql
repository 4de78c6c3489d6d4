-- A table speaks of whole sets: nothing stored stays beside it.
create or replace temp table merge_kept_bottles as
select 0::bigint as row_set, bottle, kind, fill_ml, fill_source, grew from stored_bottles limit 0;

create or replace temp table merge_kept_isolates as
select 0::bigint as row_set, bottle, organism_key, raw_text, match, negated from stored_isolates limit 0
