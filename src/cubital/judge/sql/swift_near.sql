-- Everything near a suspect, and far back before it. Patients and times alone are matched, everything else is asked of
-- the few rows that match: words are dear over millions of rows.
create or replace temp table near_sets as
select c.set_id as suspect, c.place as suspect_place, s.set_id, {place} as place,
    s.facility = c.facility and {valid} and {pairable} as is_mate
from sets s
join suspects c on c.patient_key = s.patient_key
where {place} >= c.earliest and {place} <= c.latest and s.set_id <> c.set_id
