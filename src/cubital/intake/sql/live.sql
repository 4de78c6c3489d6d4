-- The rows that nothing replaced.
create or replace temp view live as
select l.*
from lines l
anti join replaced r using (line)
where l.row_set is not null
