-- What is kept but doubtful in one stretch: doubts(line, reason, detail), but for the hours of sets.
insert into doubts
select v.keep_line, 'no_collection_time', ''
from set_values v
join lines l on l.line = v.keep_line
where v.dead = 0 and v.collected is null and v.collected_day is null and not l.collected_written
union all
select v.keep_line, 'skipped_hour', ''
from set_values v
join clock c on c.day = cast(v.collected as date) and c.change_from is not null and not c.repeats
where v.collected >= c.change_from and v.collected < c.change_to
union all
select v.keep_line, case when is_placeholder(v.birth) then 'birth_placeholder' else 'birth_impossible' end, ''
from set_values v
where v.birth is not null
  and (is_placeholder(v.birth) or v.birth > coalesce(v.collected_day, v.received_day)
    or date_sub('year', v.birth, coalesce(v.collected_day, v.received_day)) > 120)
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
from set_values v
join lines l on l.opens and l.home = v.row_set
where l.patient_key is null and $has_patients
union all
select l.line, 'organism_' || o.match, any_value(o.raw_text)
from live l
join reading_organisms o using (reading)
where o.match in ('proposed', 'unmatched') and not o.negated
group by l.line, o.match
union all
select l.line, 'result_missing', ''
from live l
where l.reading is null and l.standing >= 4 and l.dead = 0 and $has_results
union all
select l.line, 'fill_unlikely', ''
from live l
where l.fill_ml < 0 or l.fill_ml > 50
