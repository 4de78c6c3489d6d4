-- Sets by facility and month, without cancelled and rejected specimens.
select facility, month, count(*) as sets
from sets
where status not in ('cancelled', 'rejected')
group by facility, month
order by facility, month
