-- The staged lines with what the messages among themselves took back.
create or replace temp table message_marks (line bigint);

create or replace view staged as
select s.* replace (coalesce(s.unkept, case when m.line is not null then outside_code('superseded') end) as unkept)
from staged_lines s
left join message_marks m on m.line = s.rowid
