-- Lines that a withdrawal further down undoes: same order and patient, same bottle and isolate where it names them.
update staged
set unkept = outside_code('superseded')
from (
  select accession as w_accession, {patient} as w_patient, {bottle} as w_bottle, {isolate} as w_isolate, max(rowid) as line
  from staged
  where status = {withdrawn} and unkept is null
  group by all
) w
where staged.unkept is null
  and staged.accession = w.w_accession
  and {patient} is not distinct from w.w_patient
  and (w.w_bottle is null or {bottle} is not distinct from w.w_bottle)
  and (w.w_isolate is null or {isolate} is not distinct from w.w_isolate)
  and staged.rowid < w.line
