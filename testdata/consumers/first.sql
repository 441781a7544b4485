select hand, side, lower from 'outputs/lantern/v1.0.0/thresholds.parquet'
where pitch_type = 'four_seam' and variable = 'velocity' and outcome = 'whiff_rate'
  and reference = 'pitch_type_median' and lower_kind = 'edge';
