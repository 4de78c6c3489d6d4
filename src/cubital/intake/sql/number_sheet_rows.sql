-- The same for workbooks, whose rows carry their own number and lie in several sheets, and for the lines of messages,
-- which carry the number of their message and say which message it was.
select
  coalesce(f.sheet_row, f.line - s.shift) as row,
  s.sheet,
  case when f.reason = 'set' then 'set' else 'loss' end as fate,
  case when f.reason = 'set' then '' else f.reason end as reason,
  coalesce(f.reference, '') as detail
from fates f
asof join sheet_lines s on f.line >= s.first_line
