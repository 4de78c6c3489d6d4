-- How far the collection times of the valid sets in scope can be trusted, under the judgement of the call before.
select s.time_quality, count(*) as sets
from judged_sets j
join sets s on s.set_id = j.set_id
where j.inside and j.outside is null
group by s.time_quality
order by s.time_quality
