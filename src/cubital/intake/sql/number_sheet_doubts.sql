create or replace table row_doubts as
select distinct coalesce(g.sheet_row, d.line - s.shift) as row, s.sheet, d.reason, d.detail
from doubts d
asof join sheet_lines s on d.line >= s.first_line
join staged g on g.rowid = d.line
