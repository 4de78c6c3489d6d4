-- One line per row of the file, numbered as a spreadsheet shows it.
select
  line - $shift as row,
  $sheet as sheet,
  case when reason = 'set' then 'set' else 'loss' end as fate,
  case when reason = 'set' then '' else reason end as reason,
  '' as detail
from fates
