-- Why a row is no routine blood culture; null for the rows that count.
create or replace temp view scoped as
select
  p.*,
  case
    when p.unkept is not null then p.unkept
    when p.accession is null then outside_code('no_accession')
    when coalesce(s.scope, blank_specimen_scope()) <> 'in' then outside_code(coalesce(s.scope, 'no_specimen_type'))
    when coalesce(t.scope, 'in') <> 'in' then outside_code(t.scope)
  end as outside
from parsed p
left join look_specimens s on s.text = p.specimen
left join look_tests t on t.text = p.test
