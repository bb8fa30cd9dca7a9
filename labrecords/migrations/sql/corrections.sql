-- A later version of a result changes what was read, never how the strip was pulled; it rests on a correction, and once
-- the run is closed on a second person's agreement. Called by the gate's own trigger.

create function labrecords_check_correction(new public.labrecords_result) returns void
  language plpgsql stable set search_path = pg_catalog, public, pg_temp as $$
declare
  old public.labrecords_result;
  asked record;
  agreed record;
begin
  select * into old from public.labrecords_result r
   where r.id = new.supersedes_id and r.specimen_id = new.specimen_id and r.revision = new.revision - 1;
  if old.id is null then
    perform public.labrecords_no('specimen-done', 'a later revision names the one before it, of the same specimen');
  end if;
  if (new.run_id, new.technique, new.rate, new.rate_unit, new.width_mm, new.tested_at, new.tested_by_id, new.source)
     is distinct from
     (old.run_id, old.technique, old.rate, old.rate_unit, old.width_mm, old.tested_at, old.tested_by_id, old.source) then
    perform public.labrecords_no('corrected-otherwise', 'a correction leaves how the strip was pulled as it was');
  end if;
  select * into asked from public.labrecords_correction c where c.id = new.correction_id and c.result_id = old.id;
  if not found then
    perform public.labrecords_no('corrected-otherwise', 'a later revision rests on a correction of the one before it');
  end if;
  select d.* into agreed from public.labrecords_correctiondecision d where d.correction_id = asked.id;
  if agreed.id is null and (select closed_at from public.labrecords_run where id = new.run_id) is not null
     or not coalesce(agreed.agreed, true) then
    perform public.labrecords_no('correction-open', 'nobody else has agreed to the correction');
  end if;
  if exists (select 1 from public.labrecords_void v where v.specimen_id = new.specimen_id) then
    perform public.labrecords_no('specimen-void', 'the specimen is void');
  end if;
  if (select s.state from public.labrecords_study s join public.labrecords_run n on n.study_id = s.id
       where n.id = new.run_id) not in ('testing', 'in review') then
    perform public.labrecords_no('study-not-open', 'the study is neither tested nor in review');
  end if;
end $$;

create function labrecords_check_agreement() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if exists (select 1 from public.labrecords_correction c join public.labrecords_result r on r.id = c.result_id
              where c.id = new.correction_id and new.by_id in (c.by_id, r.tested_by_id)) then
    perform public.labrecords_no('same-person', 'whoever asked for a correction, or pulled the strip, does not agree to it');
  end if;
  return new;
end $$;
create trigger check_agreement before insert on labrecords_correctiondecision for each row execute function labrecords_check_agreement();
alter table labrecords_correctiondecision enable always trigger check_agreement;
