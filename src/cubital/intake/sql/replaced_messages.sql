-- Lines of equal status that a later report of the same bottle and isolate says anew.
insert into message_marks
select s.rowid
from staged s
join (
  select
    accession as w_accession, {patient} as w_patient, {bottle} as w_bottle, {isolate} as w_isolate, status as w_status,
    max(try_cast({version} as bigint)) as latest
  from staged
  where unkept is null and {version} is not null
  group by all
  having min(try_cast({version} as bigint)) < max(try_cast({version} as bigint))
) w
  on s.accession = w.w_accession
  and {patient} is not distinct from w.w_patient
  and {bottle} is not distinct from w.w_bottle
  and {isolate} is not distinct from w.w_isolate
  and s.status is not distinct from w.w_status
  and try_cast({version} as bigint) < w.latest
where s.unkept is null
