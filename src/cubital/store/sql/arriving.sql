-- The sets of the file as they would be stored if nothing were known about them yet.
create or replace temp view merge_arriving as
select
  n.row_set, n.facility, n.accession, n.patient_key, n.age_group, n.collected_at, n.collected_local, n.time_quality,
  n.received_at, n.loaded_at, n.first_positive_at, n.day, coalesce(n.month, 'undated') as month,
  coalesce(p.unit_key, n.unit_key, '') as unit_key, n.collector_key, n.attribution, n.method,
  coalesce(n.site, '') as site, n.status, coalesce(n.reject_reason, '') as reject_reason,
  coalesce(n.unit_key, '') as file_unit_key
from new_sets n
left join merge_placed p on p.row_set = n.row_set
