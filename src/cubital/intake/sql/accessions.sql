-- One row per accession of the specimens in scope. contested: more than one set may share it.
-- In: scoped (parsed with the reason why a row stays outside, null for rows that count). Patients and times enter as
-- numbers: text in these sums could not leave the memory when there are many accessions.
create or replace temp table accessions as
select
  s.accession,
  min(s.line) as row_set,
  min(k.patient_key) as patient_key,
  coalesce(min(k.patient_key) <> max(k.patient_key), false)
    or is_shortened(s.accession)
    or (splits_by_time()
      and min(moment_code(s.collected_text)) is distinct from max(moment_code(s.collected_text)))
    as contested
from scoped s
left join look_patients k on k.text = s.patient
where s.outside is null
group by s.accession
