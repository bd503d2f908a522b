//! Copies of the whole state.

use super::Control;

impl Clone for Control {
    fn clone(&self) -> Self {
        Self {
            sensing: self.sensing.clone(),
            levers: self.levers.clone(),
            self_test: self.self_test,
            monitoring: self.monitoring.clone(),
            faults: self.faults,
            log: self.log,
            guard: self.guard.clone(),
            reason_log: self.reason_log.clone(),
            drive: self.drive.clone(),
            engine_request: self.engine_request.clone(),
            work: self.work.clone(),
            valves: self.valves.clone(),
            standstill: self.standstill,
            park_brake: self.park_brake,
            panel: self.panel.clone(),
            motion: self.motion,
            bus: self.bus.clone(),
            last: self.last,
            at_rest: self.at_rest,
            set_points: self.set_points,
            diagnostics: self.diagnostics,
            periods: self.periods,
        }
    }

    /// Part by part: the black box keeps a copy each time a segment begins, and has no stack for another one.
    fn clone_from(&mut self, source: &Self) {
        let Self {
            sensing,
            levers,
            self_test,
            monitoring,
            faults,
            log,
            guard,
            reason_log,
            drive,
            engine_request,
            work,
            valves,
            standstill,
            park_brake,
            panel,
            motion,
            bus,
            last,
            at_rest,
            set_points,
            diagnostics,
            periods,
        } = source;
        self.sensing.clone_from(sensing);
        self.levers.clone_from(levers);
        self.self_test = *self_test;
        self.monitoring.clone_from(monitoring);
        self.faults = *faults;
        self.log = *log;
        self.guard.clone_from(guard);
        self.reason_log.clone_from(reason_log);
        self.drive.clone_from(drive);
        self.engine_request.clone_from(engine_request);
        self.work.clone_from(work);
        self.valves.clone_from(valves);
        self.standstill = *standstill;
        self.park_brake = *park_brake;
        self.panel.clone_from(panel);
        self.motion = *motion;
        self.bus.clone_from(bus);
        self.last = *last;
        self.at_rest = *at_rest;
        self.set_points = *set_points;
        self.diagnostics = *diagnostics;
        self.periods = *periods;
    }
}
