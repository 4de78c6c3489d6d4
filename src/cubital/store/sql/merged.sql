-- What each set met again would become. A file that leaves a field out does not erase what another file knew;
-- a result, a status and a reason are replaced, because they are what a correction is about.
-- Calling off one bottle calls off no other.
create or replace temp view merge_merged as
with timed as (
  select
    n.row_set,
    (n.time_quality = 'missing' and o.time_quality <> 'missing')
    or (n.time_quality = 'date_only' and o.time_quality in ('exact', 'ambiguous_hour') and n.day = o.day) as keeps_time
  from merge_arriving n
  join merge_stored o using (row_set)
)
select
  n.row_set,
  o.set_id,
  n.facility,
  n.accession,
  coalesce(n.patient_key, o.patient_key) as patient_key,
  if(n.age_group = 'unknown', o.age_group, n.age_group) as age_group,
  if(t.keeps_time, o.collected_at, n.collected_at) as collected_at,
  if(t.keeps_time, o.collected_local, n.collected_local) as collected_local,
  if(t.keeps_time, o.time_quality, n.time_quality) as time_quality,
  coalesce(n.received_at, o.received_at) as received_at,
  coalesce(n.loaded_at, o.loaded_at) as loaded_at,
  coalesce(n.first_positive_at, o.first_positive_at) as first_positive_at,
  if(t.keeps_time, o.day, n.day) as day,
  if(t.keeps_time, o.month, n.month) as month,
  case
    when t.keeps_time and o.unit_key <> o.file_unit_key then o.unit_key
    when n.unit_key = '' then o.unit_key
    else n.unit_key
  end as unit_key,
  coalesce(n.collector_key, o.collector_key) as collector_key,
  if(n.collector_key is null, o.attribution, n.attribution) as attribution,
  if(n.method = 'unknown', o.method, n.method) as method,
  if(n.site = '', o.site, n.site) as site,
  if(k.row_set is null, n.status, o.status) as status,
  if(k.row_set is null, n.reject_reason, o.reject_reason) as reject_reason,
  if(n.file_unit_key = '', o.file_unit_key, n.file_unit_key) as file_unit_key
from merge_arriving n
join timed t using (row_set)
join merge_stored o using (row_set)
left join (select distinct row_set from merge_kept_bottles) k
  on k.row_set = n.row_set and n.status in ('cancelled', 'rejected')
