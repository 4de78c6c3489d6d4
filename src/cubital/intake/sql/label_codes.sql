-- Units and reasons of rejection as numbers, in the order of their names so that row order plays no part.
create or replace temp table look_units as
select text, dense_rank() over (order by tidy_label(text))::integer as unit, tidy_label(text) as unit_key
from (select distinct unit as text from parsed where unit is not null);

create or replace temp table unit_names as
select distinct unit, unit_key from look_units;

create or replace temp table look_rejects as
select text, row_number() over (order by text)::integer as reject, text as reason
from (select distinct reject_reason as text from parsed where reject_reason is not null)
where lower(text) not in ('no', 'n', 'none', 'n/a', 'na', '0', 'false', '-', 'nil', 'accepted', 'ok');
