-- Which stored set each arriving set is: same facility and accession, and either the same patient or near in time.
-- Laboratories start their numbers anew; the same number months away from another patient's is another set.
create or replace temp table merge_pairs as
with candidates as (
  select
    n.row_set, s.set_id,
    coalesce(n.patient_key = s.patient_key, false) as same_patient,
    abs(date_diff('day', s.day, n.day)) as days
  from merge_arriving n
  join stored_sets s on s.facility = n.facility and s.accession = n.accession
  where coalesce(n.patient_key = s.patient_key, false)
     or n.day is null or s.day is null
     or abs(date_diff('day', s.day, n.day)) <= {reuse_days}
),
best_stored as (
  from candidates
  qualify row_number() over (partition by row_set order by same_patient desc, days nulls last, set_id) = 1
)
select row_set, set_id
from best_stored
qualify row_number() over (partition by set_id order by same_patient desc, days nulls last, row_set) = 1
