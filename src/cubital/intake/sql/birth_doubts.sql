-- Birth dates that are placeholders or do not fit the collection.
insert into doubts
select
  v.keep_line,
  case when is_placeholder(v.birth) then 'birth_placeholder' else 'birth_impossible' end,
  ''
from set_values v
join new_sets s using (row_set)
where v.birth is not null
  and (is_placeholder(v.birth) or v.birth > s.day or date_sub('year', v.birth, s.day) > 120)
