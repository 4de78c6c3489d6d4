-- What became of every row: it opened a valid set, or the reason why it did not.
create or replace temp table bottle_firsts as
select row_set, bottle, min(line) as line from live group by row_set, bottle;

create or replace temp table reading_firsts as
select row_set, bottle, reading, min(line) as line from live where growth = 2 or antibiotic group by row_set, bottle, reading;

create or replace table fates as
with one_per_row as (
  select
    line,
    max(row_set) as row_set,
    min(bottle) as bottle,
    min(reading) as reading,
    max(dead) as dead,
    bool_or(antibiotic) as antibiotic
  from lines
  group by line
)
select
  p.line,
  case
    when not p.kept then p.unkept
    when p.accession is null then 'no_accession'
    when coalesce(s.scope, $blank_specimen) <> 'in' then coalesce(s.scope, 'other_specimen')
    when coalesce(t.scope, 'in') <> 'in' then t.scope
    when v.dead = 1 then 'cancelled'
    when v.dead = 2 then 'rejected'
    when r.reason is not null then r.reason
    when v.keep_line = p.line then 'set'
    when l.dead = 1 then 'cancelled'
    when l.dead = 2 then 'rejected'
    when b.line = p.line then 'further_bottle'
    when i.line = p.line then 'further_isolate'
    when l.antibiotic then 'further_antibiotic'
    else 'repeated_row'
  end as reason
from parsed_rows p
join one_per_row l on l.line = p.line
left join look_specimens s on s.text = p.specimen
left join look_tests t on t.text = p.test
left join set_values v on v.row_set = l.row_set
left join (select distinct line, reason from replaced) r on r.line = p.line
left join bottle_firsts b on b.line = p.line
left join reading_firsts i on i.line = p.line
