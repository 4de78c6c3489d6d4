-- Puts the settled hours in, and moves later times of the same set out of the hour in front of receipt.
update unsettled s
set
  collected_at = r.collected_at,
  received_at = r.received_at,
  time_quality = case
    when r.received_at < r.collected_at then 'after_receipt'
    when s.collected_local is null then s.time_quality
    when exists (
      select 1 from clock c
      where c.day = cast(s.collected_local as date) and c.repeats
        and s.collected_local >= c.change_from and s.collected_local < c.change_to) then 'ambiguous_hour'
    else 'exact'
  end
from resolved r
where r.row_set = s.row_set;

update unsettled s
set
  loaded_at = case when s.loaded_at < s.received_at then s.loaded_at + interval 1 hour else s.loaded_at end,
  first_positive_at = case when s.first_positive_at < s.received_at then s.first_positive_at + interval 1 hour else s.first_positive_at end
from resolved r
where r.row_set = s.row_set and s.loaded_at >= s.received_at - interval 1 hour
