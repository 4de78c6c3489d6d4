-- Accessions that two patients share, or that a spreadsheet shortened, are cut into one set per patient (and per
-- collection time where the number was shortened). The earliest keeps the number, the others get " (2)", " (3)".
create or replace temp table shares as
with rows_in_scope as (
  select
    p.line,
    p.accession,
    coalesce(p.patient, '') as patient,
    case when splits_by_time() or is_shortened(p.accession) then coalesce(p.collected_text, '') else '' end as moment,
    p.collected
  from scoped p
  join accessions a using (accession)
  where a.contested and p.outside is null
),
parts as (
  select accession, patient, moment, min(line) as row_set, min(collected) as collected
  from rows_in_scope
  group by all
)
select
  accession,
  patient,
  moment,
  row_set,
  patient_key,
  row_number() over (partition by accession order by collected nulls last, patient, moment) as part
from parts
left join look_patients k on k.text = nullif(parts.patient, '')
