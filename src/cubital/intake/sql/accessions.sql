-- One row per accession of the specimens in scope. contested: more than one set may share it.
-- In: parsed, look_specimens, look_tests. $unsure_out: rows without a specimen type stay out.
create or replace temp table accessions as
select
  p.accession,
  min(p.line) as row_set,
  coalesce(min(p.patient) <> max(p.patient), false)
    or regexp_full_match(p.accession, '\d([.,]\d+)?[eE]\+?\d+') as contested
from parsed p
left join look_specimens s on s.text = p.specimen
left join look_tests t on t.text = p.test
where p.accession is not null and p.kept
  and coalesce(s.scope, $blank_specimen) = 'in' and coalesce(t.scope, 'in') = 'in'
group by p.accession
