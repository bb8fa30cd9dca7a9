-- A window study's settings are frozen with its set-up; a derived limit is used as it was approved, by somebody else.

create trigger keep_setup before insert or update or delete on labrecords_sealingwindow for each row execute function labrecords_keep_setup();
create trigger keep_table before truncate on labrecords_sealingwindow for each statement execute function labrecords_keep();
alter table labrecords_sealingwindow enable always trigger keep_setup;
alter table labrecords_sealingwindow enable always trigger keep_table;

create function labrecords_keep_setting() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
declare
  touched uuid;
begin
  foreach touched in array array[
    case when tg_op <> 'INSERT' then old.window_id end, case when tg_op <> 'DELETE' then new.window_id end
  ] loop
    if public.labrecords_frozen_study((select study_id from public.labrecords_sealingwindow where id = touched)) then
      perform public.labrecords_no('setup-locked', tg_op || ' on ' || tg_table_name || ': the set-up is locked');
    end if;
  end loop;
  if tg_op = 'DELETE' then return old; end if;
  return new;
end $$;
create trigger keep_setting before insert or update or delete on labrecords_sealingsetting for each row execute function labrecords_keep_setting();
create trigger keep_table before truncate on labrecords_sealingsetting for each statement execute function labrecords_keep();
alter table labrecords_sealingsetting enable always trigger keep_setting;
alter table labrecords_sealingsetting enable always trigger keep_table;

create function labrecords_check_limit_decision() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if new.by_id = (select by_id from public.labrecords_derivedlimit where id = new.limit_id) then
    perform public.labrecords_no('same-person', 'whoever proposed a limit does not decide on it');
  end if;
  return new;
end $$;
create trigger check_decision before insert on labrecords_limitdecision for each row execute function labrecords_check_limit_decision();
alter table labrecords_limitdecision enable always trigger check_decision;

-- The number stands in the plan as it was approved; which version is in force is asked when the set-up is locked.
create function labrecords_check_derived() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if new.derived_id is not null and not exists (
    select 1 from public.labrecords_derivedlimit d
      join public.labrecords_limitdecision s on s.limit_id = d.id and s.approved
     where d.id = new.derived_id and d.side = new.side and d.value = new.value and d.unit = new.unit
  ) then
    perform public.labrecords_no('limit-not-in-force', 'no approved limit of that side, value and unit');
  end if;
  if new.derived_id is not null and new.kind <> 'process' then
    perform public.labrecords_no('requirement-derived', 'a derived limit is a process limit');
  end if;
  return new;
end $$;
create trigger match_derived before insert or update on labrecords_limit for each row execute function labrecords_check_derived();
alter table labrecords_limit enable always trigger match_derived;
