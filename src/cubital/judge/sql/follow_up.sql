-- Sets of a later series than one that grew an organism outside the list, within so many days of it.
create or replace temp table follow_up as
with placed as (
    select s.set_id, s.facility, s.patient_key, s.day, r.series_id, {place} as place
    from sets s
    join series r on r.set_id = s.set_id
),
proven as (
    select p.facility, p.patient_key, p.series_id, p.day
    from placed p
    join growth g on g.set_id = p.set_id
    where g.grew & 2 = 2
),
starts as (
    select series_id, min(place) as started from placed group by series_id
)
select distinct p.set_id
from placed p
join proven v on v.facility = p.facility and v.patient_key = p.patient_key
join starts a on a.series_id = p.series_id
join starts b on b.series_id = v.series_id
where a.started > b.started and p.day <= v.day + $days
