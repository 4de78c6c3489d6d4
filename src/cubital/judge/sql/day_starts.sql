-- Facilities with sets that have a date but no hour, and the microseconds by which their clocks are behind UTC: the
-- most of the year, so that a day never starts on the day before.
select facility, coalesce(max(epoch_us(collected_at) - epoch_us(collected_local)), 0) as behind
from sets
where facility in (select facility from sets where time_quality = 'date_only' and collected_at is null)
group by facility
order by facility
