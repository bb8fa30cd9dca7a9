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
                  where xid = public.labrecords_transaction() and act = tg_argv[0] and body like '%"' || new.id::text || '"%') then
    raise exception '% % has no event in the audit trail', tg_table_name, new.id
      using errcode = '23514', constraint = 'event-missing';
  end if;
  return null;
end $$;
create constraint trigger need_event after insert on labrecords_result deferrable initially deferred
  for each row execute function labrecords_need_event('result.kept');
create constraint trigger need_event after insert on labrecords_refusal deferrable initially deferred
  for each row execute function labrecords_need_event('entry.refused');
create constraint trigger need_event after insert on labrecords_void deferrable initially deferred
  for each row execute function labrecords_need_event('specimen.voided');
create constraint trigger need_event after insert on labrecords_signature deferrable initially deferred
  for each row execute function labrecords_need_event('signature.made');
create constraint trigger need_event after insert on labrecords_report deferrable initially deferred
  for each row execute function labrecords_need_event('report.released');
create constraint trigger need_event after insert on labrecords_review deferrable initially deferred
  for each row execute function labrecords_need_event('study.reviewed');
alter table labrecords_result enable always trigger need_event;
alter table labrecords_refusal enable always trigger need_event;
alter table labrecords_void enable always trigger need_event;
alter table labrecords_signature enable always trigger need_event;
alter table labrecords_report enable always trigger need_event;
alter table labrecords_review enable always trigger need_event;
