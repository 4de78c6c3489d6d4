-- A collection whose offset was stated is exact, whatever the hour on the wall.
update unsettled s
set time_quality = case when s.received_at < s.collected_at then 'after_receipt' else 'exact' end
from stated_hours h
where h.row_set = s.row_set and h.collected_at is not null
