-- The canonical sets of one stretch, with two columns more for the steps that follow. clock: for every day that occurs, how far the wall clock is from UTC before and after a change.
with named as (
  select
    v.*,
    o.patient_key,
    o.accession,
    coalesce(v.collected_day, v.received_day) as day
  from values_in_hand v
  left join openings o using (row_set)
),
timed as (
  select
    n.*,
    d.month,
    age_years(case when not is_placeholder(n.birth) then n.birth end, coalesce(n.day, n.birth)) as years,
    to_utc(n.collected, c.before, c.after, c.change_to) as collected_at,
    to_utc(n.received, r.before, r.after, r.change_to) as received_at,
    to_utc(n.loaded, l.before, l.after, l.change_to) as loaded_at,
    to_utc(n.positive, p.before, p.after, p.change_to) as first_positive_at
  from named n
  left join clock c on c.day = cast(n.collected as date)
  left join clock r on r.day = cast(n.received as date)
  left join clock l on l.day = cast(n.loaded as date)
  left join clock p on p.day = cast(n.positive as date)
  left join clock d on d.day = n.day
)
select
  t.row_set,
  $facility as facility,
  t.accession,
  t.patient_key,
  case
    when t.birth is not null then age_group_of(t.years)
    else coalesce(g.age_group, 'unknown')
  end as age_group,
  t.collected_at,
  t.collected as collected_local,
  case
    when t.collected is null and t.collected_day is not null then 'date_only'
    when t.collected is null then 'missing'
    when t.received_at < t.collected_at then 'after_receipt'
    else 'exact'
  end as time_quality,
  t.received_at,
  t.loaded_at,
  t.first_positive_at,
  t.day,
  coalesce(t.month, 'undated') as month,
  coalesce(u.unit_key, '') as unit_key,
  c.collector_key,
  coalesce(c.attribution, 'none') as attribution,
  coalesce(nullif(m.name, 'unknown'), o.method, 'unknown') as method,
  coalesce(o.site_name, '') as site,
  case
    when t.dead = 1 then 'cancelled' when t.dead = 2 then 'rejected'
    when t.standing = 1 then 'preliminary'
    else 'final'
  end as status,
  coalesce(x.reason, '') as reject_reason,
  t.keep_line,
  t.received as received_local
from timed t
left join age_names g on g.age = t.age
left join unit_names u on u.unit = t.unit
left join collector_names c on c.collector = t.collector
left join site_names o on o.site = t.site
left join look_methods m on m.method = t.method
left join look_rejects x on x.reject = t.reject
