-- The counted sets of the asked collectors, each with its class: what one person's own list is made of.
select s.set_id, j.facility, s.accession, s.day, j.unit_name as unit, s.collector_key as collector, s.attribution,
    j.set_class
from judged_sets j
join sets s on s.set_id = j.set_id
join asked_collectors a on a.facility = j.facility and a.collector = s.collector_key
where j.inside and j.counted
order by j.facility, s.day, s.accession
