-- How often each reading stands in rows that nothing replaced; only readings with something to confirm.
insert into reading_counts
select reading, count(*)
from live
semi join (select distinct reading from reading_organisms where match in ('proposed', 'unmatched')) using (reading)
group by reading
