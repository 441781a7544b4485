-- The demo league's raw files to counts, written from the rules of play and the
-- files' own words alone: no profile, constant or code of sill is used.

create table raw as
select season, game_code, game_kind,
       coalesce(turn_at_bat::bigint, batting_turn::bigint) as turn, pitch_in_turn::bigint as number,
       thrower_code as thrower, throwing_arm, fielder_on_mound, stance, delivery,
       coalesce(umpire_call, "umpire.call") as call, turn_result, bunted,
       hand_speed, lift, sway, entry_slope, entry_drift, hand_height, hand_offset, reach,
       turns_a_minute::double as turns, turning_tilt, arm_slope, crossing_height, crossing_offset,
       zone_ceiling, zone_floor::double as zone_floor, start_offset, start_height,
       drift_speed, forward_speed, climb_speed, drift_gain, forward_gain, climb_gain,
       striker_code as striker, game_day, ground, host_club, guest_club, inning::bigint as inning,
       inning_half, outs_before::bigint as outs, balls_before::bigint as balls, strikes_before::bigint as strikes,
       runners_on::bigint as runners, batting_lead::bigint as lead, thrower_height
from read_parquet('%s/**/*.parquet', union_by_name = true, hive_partitioning = true);

-- One row stands for those that repeat it; rows that contradict each other go;
-- the result belongs to the last row of the turn, whichever row that is.
create table kept as
select * exclude (turn_result),
       case when number = max(number) over (partition by game_code, turn) then turn_result end as result,
       count(*) over (partition by game_code, turn, number) as versions
from (select distinct * from raw);

create table thrown as
select *,
       case throwing_arm when 'left arm' then 'left' else 'right' end as hand,
       case when stance = 'either' then case throwing_arm when 'left arm' then 'right' else 'left' end else stance end as side,
       case delivery when 'riding fastball' then 'four_seam' when 'running fastball' then 'sinker'
            when 'cutting fastball' then 'cutter' when 'hard breaker' then 'slider' when 'wide breaker' then 'sweeper'
            when 'drop breaker' then 'curveball' when 'slow change' then 'changeup' when 'forked change' then 'splitter'
            when 'lob' then 'eephus' end as kind,
       case throwing_arm when 'left arm' then 1 else -1 end as arm,
       -- swings: missed, fouled, tipped, put in play unless bunted; none at a pitch thrown wide or where the catcher interferes
       (call = 'strike missed' or call = 'fouled off' or call = 'fouled into the mitt' or (call = 'put in play' and not bunted))
         and coalesce(result, '') <> 'hindered by catcher' as swing,
       call = 'strike missed' as whiff,
       call = 'fouled into the mitt' as tip,
       case when result in ('struck out', 'struck out, runner out') then 'strikeouts'
            when result = 'walked' then 'walks'
            when result = 'struck by pitch' then 'hit_by_pitch'
            when result = 'one base hit' then 'singles'
            when result = 'two base hit' then 'doubles'
            when result = 'three base hit' then 'triples'
            when result = 'home run' then 'home_runs'
            when result = 'safe on error' then 'reached_on_error'
            when result in ('fly sacrifice', 'fly sacrifice, two out') then 'sacrifice_flies'
            when result in ('put out', 'runner forced', 'two put out', 'three put out', 'all safe by choice', 'runner out by choice') then 'other_outs'
       end as class,
       call in ('ball on purpose', 'thrown wide', 'thrown wide, missed') as wide,
       -- flight: the ball is released at 60.5 ft less the reach and crosses the front of the plate at 17 in
       (-forward_speed - sqrt(forward_speed * forward_speed - 2 * forward_gain * (50 - (60.5 - reach)))) / forward_gain as t0,
       (-forward_speed - sqrt(forward_speed * forward_speed - 2 * forward_gain * (50 - 17.0 / 12))) / forward_gain as t1
from kept
where versions = 1 and game_kind = 'league game' and not fielder_on_mound
  and call not in ('nothing thrown', 'ball by the clock', 'strike by the clock')
  and throwing_arm is not null
  and (hand_speed is null or isnan(hand_speed) or hand_speed between 44 and 161)
  and (lift is null or not isinf(lift));

create table measured as
select hand, side, kind, thrower, swing, whiff, tip, class,
       case when wide or isnan(hand_speed) then null else hand_speed * 3600 / 5280 end as velocity,
       case when not wide then lift * 12 end as induced_vertical_break,
       case when not wide then arm * sway * 12 end as horizontal_break,
       case when not wide then entry_slope end as vertical_approach_angle,
       case when not wide then degrees(atan((climb_speed + climb_gain * t1 +
            (2.5 - (start_height + climb_speed * t1 + climb_gain * t1 * t1 / 2)) / (t1 - t0)) / -(forward_speed + forward_gain * t1))) end as neutral_approach_angle,
       case when not wide then arm * entry_drift end as horizontal_approach_angle,
       case when not wide then hand_height end as release_height,
       case when not wide then arm * hand_offset end as release_side,
       case when not wide then reach end as extension,
       case when not wide then turns end as spin_rate,
       case when not wide then (crossing_height - zone_floor) / (zone_ceiling - zone_floor) end as plate_height,
       case when not wide then arm * crossing_offset end as plate_side,
       -- clockwise as the pitcher sees is toward a right-hander's arm
       case when not wide then (degrees(atan2(arm * sway, lift)) - -arm * (turning_tilt - 180)) end as axis_gap,
       case when not wide then arm_slope end as arm_slot
from thrown;
