-- Every row as codes: what group it belongs to, where it stands, what it says. One line per row and result cell.
-- home: the first line of the set, or the line itself where it belongs to none. What a set has once (accession, patient)
-- stands in the line that opens it.
select
  p.line,
  p.sheet_row,
  p.reference,
  p.outside,
  case when p.outside is not null then p.line when a.contested then h.row_set else a.row_set end as home,
  p.place = 0 and p.outside is null and p.line = case when a.contested then h.row_set else a.row_set end as opens,
  case when opens then case when h.part > 1 then p.accession || ' (' || h.part || ')' else p.accession end end as accession,
  case when opens then case when a.contested then h.patient_key else a.patient_key end end as patient_key,
  try_cast(p.birth as date) as birth,
  g.age,
  u.unit,
  case when p.collected_timed then p.collected end as collected,
  cast(coalesce(p.collected, p.collected_day) as date) as collected_day,
  case when p.received_timed then p.received end as received,
  cast(p.received as date) as received_day,
  p.collected_text is not null as collected_written,
  p.loaded,
  p.positive,
  coalesce(b.bottle, 0)::tinyint as bottle,
  coalesce(z.standing, 4)::tinyint as standing,
  case
    when r.kind = 'cancelled' or r2.kind = 'cancelled' or z.standing = 2 then 1
    when r.kind = 'rejected' or r2.kind = 'rejected' or z.standing = 3 or x.reject is not null then 2
    else 0
  end::tinyint as dead,
  c.collector,
  o.site,
  m.method,
  r.reading,
  coalesce(r.growth, 0)::tinyint as growth,
  case when contains(p.fill_ml, ',') then try_cast(replace(p.fill_ml, ',', '.') as double) else try_cast(p.fill_ml as double) end as fill_ml,
  x.reject,
  case when p.isolate_no is not null then hash(p.isolate_no) end as isolate_no,
  p.antibiotic is not null as antibiotic,
  hash(u.unit, collected, received, p.collected_day, birth, c.collector, o.site, m.method, dead, standing) as content
from scoped p
left join accessions a on a.accession = p.accession
left join shares h
  on a.contested and h.accession = p.accession and h.patient = coalesce(p.patient, '')
  and h.moment = case when splits_by_time() or is_shortened(p.accession) then coalesce(p.collected_text, '') else '' end
left join look_ages g on g.text = p.age
left join look_units u on u.text = p.unit
left join look_bottles b on b.text = p.bottle
left join look_statuses z on z.text = p.status
left join look_collectors c on c.text = p.collector
left join look_sites o on o.text = p.site
left join look_methods m on m.text = p.method
left join look_results r on r.text = p.result
left join look_results r2 on r2.text = p.verdict
left join look_rejects x on x.text = p.reject_reason
