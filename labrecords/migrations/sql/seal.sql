-- The audit trail: events of one transaction are sealed together, once, when it commits.
-- The lock on the chain's head is taken at commit and not at the first event, so a slow transaction
-- holds nobody up, and two transactions cannot wait for each other.

-- The number of this transaction, on this server: transactions count from the start again on a server to which
-- the records have been restored, and must not be taken for those of the old one.
create function labrecords_transaction() returns bigint
  language sql stable set search_path = pg_catalog, public, pg_temp as $$
  select txid_current() # system_identifier from pg_control_system()
$$;

-- Events are numbered here, in the order in which they are written, and by nobody else: an event with a number of
-- the sender's choice could pass for one that had been sealed.
create sequence labrecords_event_number owned by labrecords_event.id;
alter table labrecords_event alter column id drop identity;

create function labrecords_stamp_event() returns trigger
  language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  new.id := nextval('public.labrecords_event_number');
  new.xid := public.labrecords_transaction();
  return new;
end $$;
create trigger stamp_event before insert on labrecords_event for each row execute function labrecords_stamp_event();
alter table labrecords_event enable always trigger stamp_event;

-- seal = SHA-256 of: byte 1, hash of the previous seal, SHA-256 of the leaves in order; leaf = SHA-256 of: byte 0, body.
-- Different first bytes keep a leaf from being passed off as a seal (as in RFC 6962, section 2.1).
create function labrecords_seal() returns trigger
  language plpgsql security definer set search_path = pg_catalog, public, pg_temp as $$
declare
  head record;
  done record;
  part record;
begin
  select last_event into done from public.labrecords_seal where xid = new.xid;
  if found then
    if new.id > done.last_event then
      raise exception 'an event was written after its transaction had been sealed'
        using errcode = '23514', constraint = 'event-after-seal';
    end if;
    return null;  -- another event of the transaction has had it sealed
  end if;
  perform pg_advisory_xact_lock(7233, 1);
  select count(*) as events, min(id) as first_event, max(id) as last_event,
         sha256(string_agg(sha256('\x00'::bytea || convert_to(body, 'UTF8')), ''::bytea order by id)) as digest
    into part from public.labrecords_event where xid = new.xid;
  select seq, hash into head from public.labrecords_seal order by seq desc limit 1;
  insert into public.labrecords_seal (seq, xid, first_event, last_event, events, prev, hash)
  values (coalesce(head.seq, 0) + 1, new.xid, part.first_event, part.last_event, part.events,
          coalesce(head.hash, '\x00'::bytea),
          sha256('\x01'::bytea || coalesce(head.hash, '\x00'::bytea) || part.digest));
  return null;
end $$;
-- It writes with its owner's rights, so it is put on no table by anybody else.
revoke execute on function labrecords_seal() from public;
create constraint trigger seal_events after insert on labrecords_event
  deferrable initially deferred for each row execute function labrecords_seal();
alter table labrecords_event enable always trigger seal_events;

-- A record without an event in its own transaction does not commit.
create function labrecords_need_event() returns trigger language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  if not exists (select 1 from public.labrecords_event
                  where xid = public.labrecords_transaction() and act like tg_argv[0] and body like '%"' || new.id::text || '"%') then
    raise exception '% % has no event in the audit trail', tg_table_name, new.id
      using errcode = '23514', constraint = 'event-missing';
  end if;
  return null;
end $$;

create function labrecords_need_events(name text, act text) returns void language plpgsql set search_path = pg_catalog, public, pg_temp as $$
begin
  execute format('create constraint trigger need_event after insert on public.%I deferrable initially deferred'
                 ' for each row execute function public.labrecords_need_event(%L)', name, act);
  execute format('alter table public.%I enable always trigger need_event', name);
end $$;

select labrecords_need_events(name, act) from (values
  ('labrecords_result', 'result.kept'),
  ('labrecords_refusal', 'entry.refused'),
  ('labrecords_void', 'specimen.voided'),
  ('labrecords_deviationdecision', 'deviation.decided'),
  ('labrecords_signature', 'signature.made'),
  ('labrecords_report', 'report.released'),
  ('labrecords_review', 'study.reviewed'),
  ('labrecords_authorisation', 'person.authorised'),
  ('labrecords_withdrawal', 'person.authorisation-withdrawn'),
  ('labrecords_methodversion', 'method.issued'),
  ('labrecords_calibration', 'calibration.recorded'),
  ('labrecords_calibrationreview', 'calibration.reviewed'),
  ('labrecords_equipmentevent', 'equipment.%'),
  ('labrecords_equipmentdocument', 'equipment.document-kept'),
  ('labrecords_checkbaseline', 'check.baseline-set'),
  ('labrecords_checkreading', 'check.taken'),
  ('labrecords_discrepancy', 'lot.discrepancy-found'),
  ('labrecords_discrepancyanswer', 'lot.discrepancy-answered'),
  ('labrecords_treatment', 'lot.treated'),
  ('labrecords_nonconformity', 'nonconformity.opened'),
  ('labrecords_studyhold', 'nonconformity.opened'),
  ('labrecords_reportinquestion', 'nonconformity.opened'),
  ('labrecords_nonconformitystep', 'nonconformity.step'),
  ('labrecords_settingevidence', 'setting.seen'),
  ('labrecords_derivedlimit', 'limit.proposed'),
  ('labrecords_limitdecision', 'limit.decided'),
  ('labrecords_reportamendment', 'report.amended'),
  ('labrecords_reportwithdrawal', 'report.withdrawn'),
  ('labrecords_reportlink', 'link.given'),
  ('labrecords_linkrevocation', 'link.revoked'),
  ('labrecords_archiveorder', 'report.records-asked'),
  ('labrecords_archive', 'report.records-%'),
  ('labrecords_photo', 'photo.attached'),
  ('labrecords_photoaside', 'photo.set-aside'),
  ('labrecords_correction', 'correction.asked'),
  ('labrecords_correctiondecision', 'correction.decided'),
  ('labrecords_uncertaintybudget', 'budget.kept'),
  ('labrecords_budgetdecision', 'budget.decided'),
  ('labrecords_pullorder', 'order.drawn'),
  ('labrecords_validationdecision', 'validation.decided')
) as needed (name, act);
