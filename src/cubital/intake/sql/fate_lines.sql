-- Where a row makes several lines (a result column per bottle), its first line stands for it.
create or replace temp view fate_lines as
select
  line, any_value(outside) as outside, any_value(sheet_row) as sheet_row, any_value(reference) as reference, max(row_set) as row_set, min(bottle) as bottle, min(dead) as dead, bool_or(antibiotic) as antibiotic
from lines
group by line
