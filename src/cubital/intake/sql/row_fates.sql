-- What became of every row: it opened a valid set, or the reason why it did not. Lines of one row share its fate.
create or replace temp table reading_firsts as
select distinct line from (select min(line) as line from live where growth = 2 or antibiotic group by row_set, bottle, reading);

create or replace temp view fates as
select
  l.line,
  l.sheet_row,
  l.reference,
  case
    when l.outside is not null then outside_reason(l.outside)
    when v.dead = 1 then 'cancelled'
    when v.dead = 2 then 'rejected'
    when r.reason is not null then r.reason
    when v.keep_line = l.line then 'set'
    when l.dead = 1 then 'cancelled'
    when l.dead = 2 then 'rejected'
    when b.line is not null then 'further_bottle'
    when i.line is not null then 'further_isolate'
    when l.antibiotic then 'further_antibiotic'
    else 'repeated_row'
  end as reason
from fate_lines l
left join set_values v on v.row_set = l.row_set
left join (select line, min(reason) as reason from replaced group by line) r on r.line = l.line
left join bottle_values b on b.line = l.line and b.bottle = l.bottle
left join reading_firsts i on i.line = l.line
