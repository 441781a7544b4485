-- Grades pitches with DuckDB, from a version's Parquet. Set the variables first:
-- store, pitches, and wanted: a version such as v1.0.0, or '' for the newest of major 1.

-- Which version: the log alone tells.
create temp table entry as
with log as (from read_json(getvariable('store') || '/_log/*.json', union_by_name = true))
select version, manifest_sha256, list_transform(string_split(version[2:], '.'), n -> n::int) as number
from log
where action = 'publish' and version not in (select version from log where action = 'retract')
  and if(getvariable('wanted') = '', version like 'v1.%', version = getvariable('wanted'))
order by number desc limit 1;
select if(count(*) = 0, error('no such version'), 'found') from entry;
set variable folder = (select getvariable('store') || '/' || version from entry);

-- Verify: the log vouches for the manifest, the manifest for every other file.
select if(not bool_and(sha256(content) = manifest_sha256), error('manifest.json is not what was published'), 'verified')
from read_blob(getvariable('folder') || '/manifest.json'), entry;
create temp table manifest as select schema_version, unnest(outputs, recursive := true)
from read_json(getvariable('folder') || '/manifest.json');
select if(not bool_and(schema_version like '1.%'), error('unknown schema'), 'known') from manifest;
create temp table content as
select filename[length(getvariable('folder')) + 2:] as path, sha256(content) as have from read_blob(getvariable('folder') || '/**');
select if(count(*) > 0, error(string_agg(path, ', ') || ' is not what was published'), 'verified')
from (select path from manifest left join content using (path) where sha256 is distinct from have);

-- Read.
create temp view verdicts as from read_parquet(getvariable('folder') || '/verdicts.parquet') where stratum = '';
create temp view zones as from read_parquet(getvariable('folder') || '/zones.parquet') where stratum = '';
create temp view stretches as from read_parquet(getvariable('folder') || '/stretches.parquet') where stratum = '';
create temp view curves as from read_parquet(getvariable('folder') || '/curves.parquet') where stratum = '';
create temp view bins as from read_parquet(getvariable('folder') || '/bins.parquet') where stratum = '';
create temp table pitches as
select row_number() over () as n, * from read_csv(getvariable('pitches'), header = true, types = {x: 'double'},
  force_not_null = ['hand', 'side', 'pitch_type', 'variable', 'outcome', 'reference']); -- an empty text is a text

-- Grade.
with verdict as (
  select n, coalesce(v.verdict, if(exists (from zones z where (z.hand, z.side, z.pitch_type, z.variable, z.outcome, z.reference)
    = (p.hand, p.side, p.pitch_type, p.variable, p.outcome, p.reference)), 'found', '')) as verdict
  from pitches p left join verdicts v using (hand, side, pitch_type, variable, outcome, reference)
), observed as ( -- the range is that of the cell, whatever the line; of both outcomes at once, the first one
  select n, coalesce(any_value(p.x) between min(c.x) and max(c.x), false) as observed
  from pitches p left join curves c on (c.hand, c.side, c.pitch_type, c.variable, c.outcome)
    = (p.hand, p.side, p.pitch_type, p.variable, if(p.outcome = 'joint', 'whiff_rate', p.outcome))
  group by n
), zone as (
  select n, count(z.zone) as zones
  from pitches left join zones z using (hand, side, pitch_type, variable, outcome, reference)
  group by n
), stretch as (
  select n, any_value(sign) as sign
  from pitches join stretches using (hand, side, pitch_type, variable, outcome, reference)
  where x between lo and hi
  group by n
), edge as (
  select n, unnest([if(lower_kind = 'edge', lower, null), if(upper_kind = 'edge', upper, null)]) as edge, x
  from pitches join zones using (hand, side, pitch_type, variable, outcome, reference)
), nearest as (
  select n, arg_min(edge, (abs(x - edge), edge)) as nearest from edge where edge is not null group by n
), around as (
  select n, p.x, arg_max(c, c.x) filter (c.x <= p.x) as a, arg_min(c, c.x) filter (c.x >= p.x) as b
  from pitches p join curves c using (hand, side, pitch_type, variable, outcome, reference)
  group by n, p.x
), share as (
  select n, a, b, if(a.x = b.x, 0, (x - a.x) / (b.x - a.x)) as u from around where a is not null and b is not null
), rate as (
  select n, (1 - u) * a.rate + u * b.rate as rate, (1 - u) * a.lo + u * b.lo as lo, (1 - u) * a.hi + u * b.hi as hi from share
), thin as (
  select distinct n from pitches join bins using (hand, side, pitch_type, variable, outcome)
  where thin and kind <> 'missing' and x >= coalesce(lower, '-infinity') and x < coalesce(upper, 'infinity')
)
select concat_ws(',', hand, side, pitch_type, variable, outcome, reference, printf('%.2f', x), verdict,
  case when verdict in ('', 'too_few', 'inconclusive') then 'no_threshold'
    when not observed then 'beyond_data'
    when sign is not null then if(sign > 0, 'inside', 'outside')
    when zones > 0 then 'unresolved'
    when verdict = 'always_beats' then 'inside'
    when verdict = 'never_beats' then 'outside'
    else 'unresolved' end,
  coalesce(printf('%.2f', nearest), ''), coalesce(printf('%.2f', x - nearest), ''),
  coalesce(printf('%.4f', rate), ''), coalesce(printf('%.4f', lo), ''), coalesce(printf('%.4f', hi), ''),
  if(thin.n is null, '', 'thin')) as line
from pitches join verdict using (n) join observed using (n) join zone using (n)
  left join stretch using (n) left join nearest using (n) left join rate using (n) left join thin using (n)
order by n;
