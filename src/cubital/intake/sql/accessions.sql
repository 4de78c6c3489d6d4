-- One row per accession of the specimens in scope. contested: more than one set may share it.
-- In: scoped (parsed with the reason why a row stays outside, null for rows that count).
create or replace temp table accessions as
select
  accession,
  min(line) as row_set,
  min(patient) as patient,
  coalesce(min(patient) <> max(patient), false)
    or is_shortened(accession)
    or (splits_by_time() and min(collected_text) is distinct from max(collected_text)) as contested
from scoped
where outside is null
group by accession
