-- The same for workbooks, whose rows carry their own number and lie in several sheets.
create or replace table row_fates as
select
  coalesce(g.sheet_row, f.line - s.shift) as row,
  s.sheet,
  case when f.reason = 'set' then 'set' else 'loss' end as fate,
  case when f.reason = 'set' then '' else f.reason end as reason,
  '' as detail
from fates f
asof join sheet_lines s on f.line >= s.first_line
join staged g on g.rowid = f.line
