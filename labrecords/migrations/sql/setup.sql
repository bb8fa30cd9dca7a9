-- A locked set-up, its plan's groups and its limits never change; a study moves only along its states.

-- "For share" waits for whoever is locking the study at this moment, so that no change slips in beside the lock.
create function labrecords_frozen_study(study uuid) returns boolean
  language sql volatile set search_path = pg_catalog, public, pg_temp as $$
  select locked_at is not null from public.labrecords_study where id = study for share
$$;

create function labrecords_keep_setup() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if tg_op <> 'INSERT' and public.labrecords_frozen_study(old.study_id)
     or tg_op <> 'DELETE' and public.labrecords_frozen_study(new.study_id) then
    perform public.labrecords_no('setup-locked', tg_op || ' on ' || tg_table_name || ': the set-up is locked');
  end if;
  if tg_op = 'DELETE' then return old; end if;
  return new;
end $$;
create trigger keep_setup before insert or update or delete on labrecords_setup for each row execute function labrecords_keep_setup();
create trigger keep_setup before insert or update or delete on labrecords_plangroup for each row execute function labrecords_keep_setup();
create trigger keep_setup before insert or update or delete on labrecords_limit for each row execute function labrecords_keep_setup();
create trigger keep_table before truncate on labrecords_setup for each statement execute function labrecords_keep();
create trigger keep_table before truncate on labrecords_plangroup for each statement execute function labrecords_keep();
create trigger keep_table before truncate on labrecords_limit for each statement execute function labrecords_keep();
alter table labrecords_setup enable always trigger keep_setup;
alter table labrecords_plangroup enable always trigger keep_setup;
alter table labrecords_limit enable always trigger keep_setup;
alter table labrecords_setup enable always trigger keep_table;
alter table labrecords_plangroup enable always trigger keep_table;
alter table labrecords_limit enable always trigger keep_table;

-- The identifier too: under another one, for a moment, the study's own set-up would be nobody's and could be removed.
create function labrecords_keep_study() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if (old.locked_at is not null) and (
       (new.id, new.code, new.project_id, new.title, new.purpose, new.predecessor_id, new.amendment_reason, new.rationale,
        new.coverage, new.confidence, new.bound_rule, new.decision_rule, new.decision_chosen_by, new.agreement, new.no_agreement_reason, new.budget_id,
        new.created_by_id, new.created_at, new.locked_by_id, new.locked_at, new.mark)
       is distinct from
       (old.id, old.code, old.project_id, old.title, old.purpose, old.predecessor_id, old.amendment_reason, old.rationale,
        old.coverage, old.confidence, old.bound_rule, old.decision_rule, old.decision_chosen_by, old.agreement, old.no_agreement_reason, old.budget_id,
        old.created_by_id, old.created_at, old.locked_by_id, old.locked_at, old.mark)) then
    perform public.labrecords_no('setup-locked', 'study ' || old.code || ' is locked');
  end if;
  -- why fewer were tested than planned is said when testing is finished, and at no other time
  if old.locked_at is not null and new.fewer_reason is distinct from old.fewer_reason
     and (old.state, new.state) <> ('testing', 'in review') then
    perform public.labrecords_no('setup-locked', 'study ' || old.code || ' is not being finished');
  end if;
  if new.state <> old.state and not (old.state, new.state) in (
       ('draft', 'locked'), ('draft', 'withdrawn'), ('locked', 'testing'), ('locked', 'withdrawn'),
       ('testing', 'in review'), ('in review', 'testing'), ('in review', 'reviewed'),
       ('reviewed', 'testing'), ('reviewed', 'released'), ('released', 'in review')) then
    perform public.labrecords_no('state-refused', 'a study does not go from ' || old.state || ' to ' || new.state);
  end if;
  return new;
end $$;
create trigger keep_study before update on labrecords_study for each row execute function labrecords_keep_study();
alter table labrecords_study enable always trigger keep_study;

-- A run keeps who, what and how; only its end is written later, once.
create function labrecords_keep_run() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if old.closed_at is not null or
     (new.id, new.study_id, new.number, new.person_id, new.tester_id, new.cell_id, new.room_sensor_id, new.width_gauge_id, new.technique, new.rate, new.rate_unit,
      new.room_c, new.room_humidity_percent, new.cell_accepted_by_id, new.cell_accepted_why, new.opened_at)
     is distinct from
     (old.id, old.study_id, old.number, old.person_id, old.tester_id, old.cell_id, old.room_sensor_id, old.width_gauge_id, old.technique, old.rate, old.rate_unit,
      old.room_c, old.room_humidity_percent, old.cell_accepted_by_id, old.cell_accepted_why, old.opened_at) then
    perform public.labrecords_no('run-is-kept', 'run ' || old.number || ' is kept as it was opened');
  end if;
  return new;
end $$;
create trigger keep_run before update on labrecords_run for each row execute function labrecords_keep_run();
alter table labrecords_run enable always trigger keep_run;
