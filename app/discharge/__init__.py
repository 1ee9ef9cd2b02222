"""The discharge record: every capacitor of the supply and of the bias supply listed, discharged, and measured one by one."""
