-- Doubts about the hours of the sets just written. Doubts about a set stand at the row that opened it.
insert into doubts
select keep_line, time_quality, ''
from {sets}
where time_quality in ('ambiguous_hour', 'after_receipt', 'date_only') and status not in ('cancelled', 'rejected')
