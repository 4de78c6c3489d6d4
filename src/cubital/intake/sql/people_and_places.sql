-- Collectors and sites as numbers. A text that names nobody has no number.
create or replace temp table look_collectors as
select text, case when key is not null then dense_rank() over (order by key, attribution)::integer end as collector, key, attribution
from collector_texts;

create or replace temp table collector_names as
select collector, any_value(key) as collector_key, any_value(attribution) as attribution
from look_collectors
where collector is not null
group by collector;

create or replace temp table look_sites as
select text, dense_rank() over (order by method, site_name)::integer as site, site_name, method
from site_texts;

create or replace temp table site_names as
select site, any_value(site_name) as site_name, any_value(method) as method
from look_sites
group by site;
