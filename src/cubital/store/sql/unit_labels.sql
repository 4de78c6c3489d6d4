-- Every label of a unit, how many sets carry it, and from when to when.
select
  facility, unit_key, count(*) as sets,
  min(month) filter (month <> 'undated') as first_month,
  max(month) filter (month <> 'undated') as last_month
from sets
group by facility, unit_key
order by facility, unit_key
