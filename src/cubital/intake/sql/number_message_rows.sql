-- The same for the lines of messages, which carry the number of their message and say which message it was.
create or replace table row_fates as
select
  coalesce(g.sheet_row, f.line - s.shift) as row,
  s.sheet,
  case when f.reason = 'set' then 'set' else 'loss' end as fate,
  case when f.reason = 'set' then '' else f.reason end as reason,
  coalesce(g.message_reference, '') as detail
from fates f
asof join sheet_lines s on f.line >= s.first_line
join staged g on g.rowid = f.line
