-- What is kept but doubtful: doubts(line, reason, detail). Doubts about a set stand at the row that opened it.
create or replace temp table doubts as
select v.keep_line as line, s.time_quality as reason, '' as detail
from new_sets s
join set_values v using (row_set)
where s.time_quality in ('ambiguous_hour', 'after_receipt', 'date_only') and s.status not in ('cancelled', 'rejected')
union all
select v.keep_line, 'no_collection_time', ''
from new_sets s
join (
  select w.row_set, w.keep_line, p.collected_text is not null as collected_written
  from set_values w
  join parsed_rows p on p.line = w.keep_line
  where w.collected is null and w.collected_day is null
) v using (row_set)
where s.time_quality = 'missing' and not v.collected_written and s.status not in ('cancelled', 'rejected')
union all
select v.keep_line, 'skipped_hour', ''
from set_values v
join clock c on c.day = cast(v.collected as date) and c.change_from is not null and not c.repeats
where v.collected >= c.change_from and v.collected < c.change_to
union all
select d.keep_line, unnest(list_filter([
  case when d.units_differ then 'units_differ' end,
  case when d.times_differ then 'times_differ' end,
  case when d.births_differ then 'births_differ' end,
  case when d.collectors_differ then 'collectors_differ' end], lambda x: x is not null)), ''
from disagreeing d
union all
select h.row_set, case when is_shortened(h.accession) then 'accession_shortened' else 'accession_of_two_patients' end, ''
from shares h
join set_values v using (row_set)
where is_shortened(h.accession) or not splits_by_time()
union all
select b.line, 'results_differ', ''
from conflicts c
join bottle_values b using (row_set, bottle)
union all
select v.keep_line, 'no_patient', ''
from new_sets s
join set_values v using (row_set)
where s.patient_key is null and $has_patients
union all
select l.line, 'organism_proposed', any_value(o.raw_text)
from live l
join reading_organisms o using (reading)
where o.match = 'proposed' and not o.negated
group by l.line
union all
select l.line, 'organism_unmatched', any_value(o.raw_text)
from live l
join reading_organisms o using (reading)
where o.match = 'unmatched' and not o.negated
group by l.line
union all
select l.line, 'result_missing', ''
from live l
where l.reading is null and l.standing >= 4 and l.dead = 0 and $has_results
union all
select l.line, 'fill_unlikely', ''
from live l
where l.fill_ml < 0 or l.fill_ml > 50
union all
select line, reason, detail
from damaged
where reason not in ('accession_shortened')
