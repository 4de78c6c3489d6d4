-- Movements with keyed patients and times in UTC. A stay within a repeated hour is read as long as it can be.
create or replace temp table moves as
select
  p.line,
  coalesce(p.sheet_row, p.line + $offset) as row,
  k.patient_key,
  lower(regexp_replace(trim(p.unit), '\s+', ' ', 'g')) as unit_key,
  p.from_local - to_minutes(case when f.change_to is not null and p.from_local >= f.change_to then f.after else f.before end) as from_at,
  p.to_local - to_minutes(case when t.change_from is not null and p.to_local >= t.change_from and t.repeats or p.to_local >= t.change_to
    then t.after else t.before end) as to_at
from parsed p
left join look_patients k on k.text = p.patient
left join clock f on f.day = cast(p.from_local as date)
left join clock t on t.day = cast(p.to_local as date);

create or replace table movement_fates as
select
  row,
  '' as sheet,
  case when reason is null then 'movement' else 'loss' end as fate,
  coalesce(reason, '') as reason,
  '' as detail,
  line
from (
  select
    *,
    case
      when patient_key is null and coalesce(unit_key, '') = '' and from_at is null then 'blank_row'
      when patient_key is null then 'no_patient'
      when coalesce(unit_key, '') = '' then 'no_unit'
      when from_at is null then 'no_start'
      when to_at < from_at then 'ends_before_start'
    end as reason
  from moves
);

create or replace table new_movements as
select $facility as facility, m.patient_key, m.unit_key, m.from_at, m.to_at
from moves m
join movement_fates f using (line)
where f.fate = 'movement'
