-- Every name that was guessed or not read, with the rows it stands in; denied names change no count and stay out.
select o.raw_text, o.organism_key, o.match, sum(c.lines)::bigint as lines
from reading_counts c
join reading_organisms o using (reading)
where o.match in ('proposed', 'unmatched') and not o.negated
group by o.raw_text, o.organism_key, o.match
order by o.match desc, lines desc, o.raw_text
