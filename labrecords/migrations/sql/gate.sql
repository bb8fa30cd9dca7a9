-- The hard rules of the gate, a second time: no script and no other program gets past them.
-- Each refusal carries the same code as in rules/, as the constraint's name.

create function labrecords_no(code text, sentence text) returns void
  language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  raise exception '%', sentence using errcode = '23514', constraint = code;
end $$;

-- A rate in mm/min, exactly; an unknown unit gives null, which equals nothing, so it is caught by the table's check.
create function labrecords_mm_min(rate numeric, unit text) returns numeric
  language sql immutable set search_path = pg_catalog, public, pg_temp as $$
  select rate * case unit when 'in/min' then 25.4 when 'mm/min' then 1 end
$$;

-- The day of a moment, where the laboratory is.
create function labrecords_day(moment timestamptz) returns date
  language sql stable set search_path = pg_catalog, public, pg_temp as $$
  select (moment at time zone (select time_zone from public.labrecords_laboratory limit 1))::date
$$;

create function labrecords_check_equipment(item uuid, moment timestamptz) returns void
  language plpgsql stable set search_path = pg_catalog, public, pg_temp as $$
declare
  cal record;
  what record;
  latest text;
begin
  select label into what from public.labrecords_equipment where id = item;
  select kind into latest from public.labrecords_equipmentevent
   where equipment_id = item and happened_at <= moment
     and kind in ('out of service', 'back in service', 'retired', 'adjusted', 'repaired')
   order by happened_at desc, at desc, id desc limit 1;
  if latest <> 'back in service' then
    perform public.labrecords_no('out-of-service', what.label || ' was ' || latest);
  end if;
  select c.* into cal from public.labrecords_calibration c
    join public.labrecords_calibrationreview r on r.calibration_id = c.id
   where c.equipment_id = item and c.performed_on <= public.labrecords_day(moment)
     and not exists (select 1 from public.labrecords_calibration s
                       join public.labrecords_calibrationreview sr on sr.calibration_id = s.id
                      where s.supersedes_id = c.id)
   order by c.performed_on desc, c.at desc limit 1;
  if not found then
    perform public.labrecords_no('not-calibrated', what.label || ' had no reviewed calibration on that day');
  end if;
  if not cal.passed then
    perform public.labrecords_no('calibration-failed', what.label || ' failed its latest calibration');
  end if;
  if cal.due_on < public.labrecords_day(moment) then
    perform public.labrecords_no('calibration-overdue', what.label || ' was due on ' || cal.due_on);
  end if;
end $$;

-- Where the method asks for it, tester and cell together were checked that day before the test, the last time well.
create function labrecords_check_before_use(tester uuid, cell uuid, version uuid, moment timestamptz) returns void
  language plpgsql stable set search_path = pg_catalog, public, pg_temp as $$
declare
  asked text;
  good boolean;
begin
  select check_before_use into asked from public.labrecords_methodversion where id = version;
  if asked = '' then return; end if;
  select c.accepted into good from public.labrecords_checkreading c
    join public.labrecords_equipment s on s.id = c.standard_id
   where c.tester_id = tester and c.cell_id = cell and s.kind = asked and c.taken_at <= moment
     and public.labrecords_day(c.taken_at) = public.labrecords_day(moment)
   order by c.taken_at desc, c.at desc limit 1;
  if good is not true then
    perform public.labrecords_no('not-verified-today', 'tester and cell had not been checked that day');
  end if;
end $$;

create function labrecords_check_result() returns trigger
  language plpgsql set search_path = pg_catalog, public, pg_temp as $$
declare
  study record;
  locked record;
  run record;
  specimen record;
  received timestamptz;
  unused integer;
  validated uuid;
begin
  -- a later version changes what was read, under rules of its own; the first one is judged here
  if new.revision > 1 or new.supersedes_id is not null or new.correction_id is not null then
    perform public.labrecords_check_correction(new);
    return new;
  end if;
  select * into specimen from public.labrecords_specimen where id = new.specimen_id;
  select * into run from public.labrecords_run where id = new.run_id;
  -- shared, so that testing is not closed at the same moment
  select * into study from public.labrecords_study where id = specimen.study_id for share;
  select * into locked from public.labrecords_setup where study_id = study.id;

  if run.study_id <> specimen.study_id then
    perform public.labrecords_no('specimen-elsewhere', specimen.label || ' belongs to another study');
  end if;
  if study.locked_at is null or locked.id is null then
    perform public.labrecords_no('setup-not-locked', 'the set-up of ' || study.code || ' is not locked');
  end if;
  if study.state <> 'testing' then
    perform public.labrecords_no('study-not-open', study.code || ' is not open for testing');
  end if;
  if specimen.group_id is null then
    perform public.labrecords_no('not-in-plan', specimen.label || ' is in no group of the plan');
  end if;
  if exists (select 1 from public.labrecords_void v where v.specimen_id = specimen.id) then
    perform public.labrecords_no('specimen-void', specimen.label || ' is void');
  end if;
  if run.closed_at is not null then
    perform public.labrecords_no('run-closed', 'run ' || run.number || ' is closed');
  end if;
  if new.technique <> locked.technique or run.technique <> locked.technique then
    perform public.labrecords_no('technique-changed', study.code || ' is locked to technique ' || locked.technique);
  end if;
  if public.labrecords_mm_min(new.rate, new.rate_unit) <> public.labrecords_mm_min(locked.rate, locked.rate_unit)
     or public.labrecords_mm_min(run.rate, run.rate_unit) <> public.labrecords_mm_min(locked.rate, locked.rate_unit) then
    perform public.labrecords_no('rate-changed',
      study.code || ' is locked to ' || locked.rate || ' ' || locked.rate_unit);
  end if;
  if not locked.width_measured and new.width_mm <> locked.width_mm then
    perform public.labrecords_no('width-changed', study.code || ' is locked to ' || locked.width_mm || ' mm');
  end if;
  if new.tested_at > clock_timestamp() + interval '1 minute' then
    perform public.labrecords_no('in-the-future', 'the time of test has not come yet');
  end if;
  select l.received_at into received from public.labrecords_lot l
    join public.labrecords_pack p on p.lot_id = l.id where p.id = specimen.pack_id;
  if new.tested_at < received then
    perform public.labrecords_no('before-receipt', specimen.label || ' had not been received');
  end if;
  if new.tested_at < run.opened_at then
    perform public.labrecords_no('before-run', 'the run had not been opened');
  end if;
  if new.tested_by_id <> run.person_id then
    perform public.labrecords_no('not-this-person', 'the run is another person''s');
  end if;
  select disuse_months into unused from public.labrecords_methodversion where id = locked.method_version_id;
  -- whoever takes part in a validation study is asked for no authorisation there, but for the drawn order
  select id into validated from public.labrecords_validationplan where study_id = study.id;
  if validated is not null and not exists (
    select 1 from public.labrecords_pullplace p join public.labrecords_pullorder o on o.id = p.order_id
     where p.specimen_id = specimen.id and o.study_id = study.id) then
    perform public.labrecords_no('order-not-drawn', specimen.label || ' has no place in a drawn order');
  end if;
  if not exists (select 1 from public.labrecords_validationperson v
                  where v.plan_id = validated and v.person_id = new.tested_by_id) and not exists (
    select 1 from public.labrecords_authorisation a
      left join public.labrecords_withdrawal w on w.authorisation_id = a.id
     where a.person_id = new.tested_by_id and a.method_version_id = locked.method_version_id
       and a.technique = new.technique
       and public.labrecords_day(new.tested_at) between a.from_on and a.until_on
       and (w.from_on is null or w.from_on > public.labrecords_day(new.tested_at))
       -- it lapses with disuse: so many months after its first day or the last result under it
       and (unused = 0 or make_interval(months => unused) + greatest(a.from_on, (
             select max(public.labrecords_day(r.tested_at)) from public.labrecords_result r
               join public.labrecords_run rr on rr.id = r.run_id
               join public.labrecords_setup rs on rs.study_id = rr.study_id
              where r.tested_by_id = new.tested_by_id and r.technique = new.technique
                and rs.method_version_id = locked.method_version_id and r.tested_at < new.tested_at))
           >= public.labrecords_day(new.tested_at))) then
    perform public.labrecords_no('not-authorised', 'the person who tested is not authorised for this technique');
  end if;
  perform public.labrecords_check_equipment(run.tester_id, new.tested_at);
  perform public.labrecords_check_equipment(run.cell_id, new.tested_at);
  perform public.labrecords_check_before_use(run.tester_id, run.cell_id, locked.method_version_id, new.tested_at);
  if new.revision <> 1 then
    perform public.labrecords_no('specimen-done', 'the first version of a result is number 1');
  end if;
  return new;
end $$;
create trigger check_result before insert on labrecords_result
  for each row execute function labrecords_check_result();
alter table labrecords_result enable always trigger check_result;
