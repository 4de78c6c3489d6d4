-- Lines that a withdrawal further down undoes: same order and patient, same bottle and isolate where it names them.
insert into message_marks
select distinct s.rowid
from staged s
join (
  select accession as w_accession, {patient} as w_patient, {bottle} as w_bottle, {isolate} as w_isolate, max(rowid) as w_line
  from staged
  where status = {withdrawn} and unkept is null
  group by all
) w
  on s.accession = w.w_accession
  and {patient} is not distinct from w.w_patient
  and (w.w_bottle is null or {bottle} is not distinct from w.w_bottle)
  and (w.w_isolate is null or {isolate} is not distinct from w.w_isolate)
  and s.rowid < w.w_line
where s.unkept is null
