-- How many sets came new, were changed, were the same, or were older than what is stored; and how many new ones
-- carry an accession that an older, other set already has.
select
  (select count(*) from new_sets) - (select count(*) from merge_pairs) as added,
  count(*) filter (fate = 'changed') as changed,
  count(*) filter (fate = 'unchanged') as unchanged,
  count(*) filter (fate = 'outdated') as outdated,
  (
    select count(*) from merge_arriving n anti join merge_pairs using (row_set)
    semi join stored_sets s on s.facility = n.facility and s.accession = n.accession
  ) as reused,
  (
    select count(*) from merge_arriving n join merge_stored o using (row_set)
    where n.patient_key is not null and o.patient_key is not null
  ) as compared_patients,
  (
    select count(*) from merge_arriving n join merge_stored o using (row_set)
    where n.patient_key <> o.patient_key
  ) as other_patients
from merge_fates
