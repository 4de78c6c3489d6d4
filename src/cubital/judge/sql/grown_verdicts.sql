-- What a comparison of definitions needs: every set in scope that grew something.
select j.set_id, j.facility, s.accession, j.set_class, j.reason, j.counted
from judged_sets j
join sets s on s.set_id = j.set_id
where j.inside and j.grew > 0
order by j.facility, s.accession, j.set_id
